"""Steps are found where a level changes for good, and nowhere else."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy.signal import lfilter

from alarmsift.evidence.steps import change_points

# Thousands of series: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

SERIES = 150  # a family; tests.measure.changes takes 1000 and more families
LENGTHS = (0, 1, 3, 9, 10, 20, 50, 100, 100, 200, 300, 300, 500, 500, 1000)


def persistent(rng, rows, phi):
    noise = rng.normal(size=rows + 200)
    return lfilter([1.0], [1.0, -phi], noise)[200:] * np.sqrt(1 - phi**2)


def swing(rng, rows, noise=1.0):
    day = rng.choice([48, 96, 144])
    turn = 2 * np.pi * (np.arange(rows) / day + rng.random())
    return rng.uniform(0.5, 6) * np.sin(turn) + noise * rng.normal(size=rows)


def drift(rng, rows):
    return rng.choice([0.5, 2, 5, 20, 1000]) * np.arange(rows) / max(rows, 1) + rng.normal(
        size=rows
    )


def spiked(rng, rows):
    series = rng.normal(size=rows)
    hit = rng.random(rows) < 0.01
    return np.where(hit, series + rng.choice([-1, 1], rows) * rng.uniform(8, 100, rows), series)


def half_missing(rng, rows):
    series = rng.normal(size=rows)
    series[rng.random(rows) < 0.5] = np.nan
    return series


def rounded(rng, rows):
    series = rng.choice([0.3, 0.5, 1, 3]) * persistent(rng, rows, 0.8) + 3 * rng.random()
    return np.round(series + rng.choice([0, 3]) * np.arange(rows) / max(rows, 1))


FAMILIES = {
    "pure noise": lambda rng, rows: rng.normal(size=rows),
    "noise that persists": lambda rng, rows: persistent(
        rng, rows, rng.choice([0.3, 0.6, 0.8, 0.9, 0.95])
    ),
    "slow drift": drift,
    "slow wander": lambda rng, rows: (
        np.cumsum(0.05 * rng.normal(size=rows)) + rng.normal(size=rows)
    ),
    "fading": lambda rng, rows: (
        8 * np.exp(-3 * np.arange(rows) / (rows + 1)) + 0.5 * rng.normal(size=rows)
    ),
    "daily swing": swing,
    "clean daily swing": lambda rng, rows: swing(rng, rows, noise=0.1),
    "rounded readings": rounded,
    "heavy-tailed noise": lambda rng, rows: rng.standard_t(2, size=rows),
    "isolated spikes": spiked,
    "resting at zero": lambda rng, rows: np.maximum(rng.normal(size=rows), 0.0),
    "flicker of one display step": lambda rng, rows: (rng.random(rows) < 0.02).astype(float),
    "constants": lambda rng, rows: np.full(rows, rng.normal()),
    "half missing": half_missing,
    "three sensors": lambda rng, rows: rng.normal(size=(rows, 3)),
}


@pytest.mark.parametrize("family", FAMILIES)
def test_at_most_one_false_change_in_ten_series_of(family):
    rng = np.random.default_rng(20)
    counts = [
        len(change_points(FAMILIES[family](rng, int(rng.choice(LENGTHS))))) for _ in range(SERIES)
    ]
    assert np.mean(counts) <= 0.1


@pytest.mark.parametrize(("rows", "series"), [(5000, 5), (15_000, 2)])
@pytest.mark.parametrize("family", FAMILIES)
def test_no_flood_of_false_changes_in_a_long_series_of(family, rows, series):
    rng = np.random.default_rng(21)
    counts = [len(change_points(FAMILIES[family](rng, rows))) for _ in range(series)]
    assert sum(counts) <= 1


@pytest.mark.parametrize("rows", [100, 300, 1000])
def test_a_lasting_step_of_three_noise_widths_is_found(rows):
    rng = np.random.default_rng(22)
    found = 0
    for _ in range(100):
        series = rng.normal(size=rows)
        series[rows // 2 :] += 3.0
        changes = change_points(series)
        found += len(changes) == 1 and abs(changes[0] - rows // 2) <= 3
    assert found >= 90


GROUNDS = {
    "nothing": lambda rng, rows: np.zeros(rows),
    "a drift of ten noise widths": lambda rng, rows: np.linspace(0.0, 10.0, rows),
    "a swing as wide as the noise": lambda rng, rows: (
        0.7 * np.sin(2 * np.pi * (np.arange(rows) / 48 + rng.random()))
    ),
    "rounding to few levels": lambda rng, rows: np.zeros(rows),
    "spikes": lambda rng, rows: np.where(rng.random(rows) < 0.02, 40.0, 0.0),
}


@pytest.mark.parametrize("ground", GROUNDS)
def test_a_step_of_four_noise_widths_is_found_beside(ground):
    rng = np.random.default_rng(31)
    found = false = 0
    for _ in range(50):
        before, after = int(rng.integers(30, 200)), int(rng.integers(30, 200))
        rows = before + after
        series = rng.normal(size=rows) + GROUNDS[ground](rng, rows)
        series[before:] += 4.0 * rng.choice([-1, 1])
        changes = change_points(np.round(series) if ground == "rounding to few levels" else series)
        hits = sum(abs(at - before) <= 5 for at in changes)
        found += hits > 0
        false += len(changes) - min(hits, 1)
    assert found >= 45
    assert false <= 5


def test_a_step_of_one_and_a_half_noise_widths_is_found_between_long_regimes():
    rng = np.random.default_rng(32)
    found = 0
    for _ in range(50):
        series = rng.normal(size=400)
        series[200:] += 1.5
        changes = change_points(series)
        found += len(changes) == 1 and abs(changes[0] - 200) <= 10
    assert found >= 45


def test_a_sensor_that_needs_some_rows_to_follow_has_changed_once():
    rng = np.random.default_rng(33)
    for lag in (2.0, 4.0):
        since = np.arange(400) - 200.0
        rise = np.where(since > 0, 1 - np.exp(-np.maximum(since, 0) / lag), 0.0)
        changes = change_points(10.0 * rise + rng.normal(size=400))
        assert changes == pytest.approx([202], abs=4)


def test_a_ramp_over_eighty_rows_is_a_drift():
    rng = np.random.default_rng(34)
    series = rng.normal(size=600) + 8.0 * np.clip((np.arange(600) - 260) / 80, 0, 1)
    assert change_points(series) == []


def test_order_of_sensors_and_dead_ones_do_not_matter():
    rng = np.random.default_rng(35)
    table = (
        rng.normal(size=(500, 3)) + np.where(np.arange(500) < 180, 0.0, [[3.0], [0.0], [-2.0]]).T
    )
    dead = np.column_stack([np.full(500, np.nan), table[:, 2], np.full(500, 7.0), table[:, :2]])
    assert len(change_points(table)) == 1
    assert change_points(table) == change_points(table[:, ::-1])
    assert change_points(dead) == change_points(dead[:, ::-1])
    assert len(change_points(dead)) == 1


def test_several_steps_up_and_down_are_all_found():
    rng = np.random.default_rng(23)
    series = rng.normal(size=900) + np.repeat([0.0, 5, 1, 6, 2, 12], 150)
    np.testing.assert_allclose(change_points(series), [150, 300, 450, 600, 750], atol=2)


def test_a_step_seen_by_one_of_three_sensors_is_enough():
    rng = np.random.default_rng(24)
    table = rng.normal(size=(300, 3))
    table[120:, 1] += 6.0
    assert change_points(table) == pytest.approx([120], abs=1)


def test_missing_rows_are_counted_and_the_change_is_a_measured_row():
    rng = np.random.default_rng(25)
    series = np.where(np.arange(400) < 200, 0.0, 10.0) + rng.normal(size=400)
    series[::2] = np.nan
    series[190:231] = np.nan
    assert change_points(series) == [231]


def test_sensors_read_in_turn_keep_their_own_gaps():
    rng = np.random.default_rng(26)
    table = np.full((400, 2), np.nan)
    table[::2, 0] = rng.normal(size=200)
    table[1::2, 1] = rng.normal(size=200) + np.where(np.arange(200) < 90, 0.0, 8.0)
    changes = change_points(table)
    assert len(changes) == 1
    assert abs(changes[0] - 181) <= 2


def test_clean_blocks_without_any_noise_are_steps():
    assert change_points(np.repeat([0.0, 10.0], 50)) == [50]
    assert change_points(np.repeat([0.0, 10.0, 20.0], 50)) == [50, 100]


def test_two_rows_off_are_no_regime():
    series = np.random.default_rng(27).normal(size=300)
    series[100:102] += 50.0
    assert change_points(series) == []


def test_neither_a_short_nor_a_small_step_is_lost_in_a_hundred_thousand_rows():
    rng = np.random.default_rng(36)
    series = rng.normal(size=100_000)
    series[60_007:60_087] += 4.0  # shorter than what the mean of blocks would show
    series[80_000:] += 0.5  # smaller than what a look at single rows would show
    changes = change_points(series)
    assert len(changes) == 3
    np.testing.assert_allclose(changes[:2], [60_007, 60_087], atol=2)
    assert changes[2] == pytest.approx(80_000, abs=100)


def test_twenty_thousand_rows_lose_no_rows_in_the_place():
    rng = np.random.default_rng(28)
    series = rng.normal(size=20_000)
    series[7013:] += 4.0
    series[15_551:] -= 4.0
    changes = change_points(series)
    np.testing.assert_allclose(changes, [7013, 15_551], atol=2)


@settings(max_examples=150, deadline=None)
@given(
    arrays(
        float,
        st.tuples(st.integers(0, 60), st.integers(1, 3)),
        elements=st.one_of(st.floats(-1e9, 1e9), st.just(np.nan), st.just(np.inf)),
    )
)
def test_any_table_gives_rising_rows_strictly_inside_it(table):
    changes = change_points(table)
    assert changes == sorted(set(changes))
    assert all(0 < at < len(table) for at in changes)


def test_unit_and_offset_of_the_readings_do_not_matter():
    rng = np.random.default_rng(29)
    series = rng.normal(size=200) + np.repeat([0.0, 6.0], 100)
    expected = change_points(series)
    assert len(expected) == 1
    for unit, offset in ((1e-3, 7.0), (-1.0, 0.0), (1e9, 0.0), (1e-9, 0.0), (1.0, 1e6)):
        assert change_points(unit * series + offset) == expected


def test_the_given_table_is_left_as_it_was():
    table = np.random.default_rng(30).normal(size=(50, 2))
    before = table.copy()
    change_points(table)
    np.testing.assert_array_equal(table, before)
