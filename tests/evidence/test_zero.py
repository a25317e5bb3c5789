import numpy as np
import pytest

from alarmsift.evidence.zero import display_step, fit_zero, noise_of, resets_of, zero_at
from alarmsift.pipeline.learnt import learnt
from alarmsift.tables.site import Site
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.measured import measured
from tests.ten_rows import history, logs_of, quiet

POINTS = ("A", "B", "C", "D", "E", "F", "G", "AIR")
ROUNDS = 72 * 14  # 20 min rounds, two weeks
DAYS = np.arange(ROUNDS) / 72.0
OWN = dict(zip(POINTS, (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 0.0), strict=True))
NOISE = 0.3


def drifting(common, *, seed=5, spoil=None):
    """Return readings = own background + what all share + noise, at a display step of 0.1."""
    rng = np.random.default_rng(seed)
    values = {
        (p, "HC"): np.round(OWN[p] + common + NOISE * rng.standard_normal(ROUNDS), 1)
        for p in POINTS
    }
    if spoil is not None:
        spoil(values)
    return history(values)


def fitted(readings, *, operations=None, reference="AIR"):
    logs = logs_of({"readings": readings, "operations": operations})
    visits = build_visits(logs)
    ops = read_operations(logs, visits)
    at = None if reference is None else visits.points.index(reference)
    return visits, ops, fit_zero(visits, ops, "HC", analyser=0, reference=at)


def by_name(visits, array):
    return {name: array[i] for i, name in enumerate(visits.points)}


def test_known_drift_and_backgrounds_come_back_within_noise():
    drift = 0.25 * DAYS
    visits, _, model = fitted(drifting(drift))
    truth = np.interp(model.blocks.hours, DAYS * 24.0, drift)
    inside = slice(3, -3)  # the running median leans at both ends
    assert np.abs(model.zero - truth)[inside].max() < NOISE
    for name, level in by_name(visits, model.background).items():
        assert level == pytest.approx(OWN[name], abs=NOISE)
    assert model.anchored == "reference point"


def test_noise_is_told_from_drift_and_background():
    visits, _, model = fitted(drifting(0.25 * DAYS))
    assert model.noise == pytest.approx(np.full(len(POINTS), NOISE), rel=0.25)


def test_gas_at_one_point_does_not_drag_the_zero():
    def leak(values):
        values["E", "HC"][300:700] += 40.0

    with_gas = fitted(drifting(0.1 * DAYS, spoil=leak))[2].zero
    without = fitted(drifting(0.1 * DAYS))[2].zero
    assert np.abs(with_gas - without).max() < NOISE


def test_gas_at_three_of_eight_points_does_not_drag_the_zero():
    def leaks(values):
        for point in ("C", "E", "G"):
            values[point, "HC"][300:500] += 30.0

    with_gas = fitted(drifting(0.1 * DAYS, spoil=leaks))[2].zero
    without = fitted(drifting(0.1 * DAYS))[2].zero
    assert np.abs(with_gas - without).max() < 2 * NOISE


def test_zero_steps_back_at_its_adjustment_and_nowhere_else():
    drift = np.where(DAYS < 7, 0.5 * DAYS, 0.0)
    operations = """
    time   action      gas value
    168:00 zero_adjust HC  0
    """
    _, ops, model = fitted(drifting(drift), operations=operations)
    found = zero_at(model, resets_of(ops, "HC"), np.array([160.0, 167.0, 169.0, 176.0]))
    assert found[1] > 2.5
    assert np.abs(found[2:]).max() < 2 * NOISE


def test_zero_checks_tie_the_zero_where_no_point_draws_clean_air():
    operations = """
    time   action     gas value
    72:00  zero_check HC  2.0
    168:00 zero_check HC  2.1
    240:00 zero_check HC  1.9
    """
    _, _, model = fitted(drifting(np.full(ROUNDS, 2.0)), operations=operations, reference=None)
    assert model.anchored == "zero checks"
    assert np.median(model.zero) == pytest.approx(2.0, abs=NOISE)


def test_lowest_points_tie_the_zero_where_nothing_else_does():
    _, _, model = fitted(drifting(np.zeros(ROUNDS)), reference=None)
    assert model.anchored == "lowest points"
    assert np.abs(np.median(model.zero)) < 1.0


def test_oxygen_zero_is_about_clean_air():
    values = quiet(POINTS, 300, gases=("O2",), noise=0.05)
    logs = logs_of({"readings": history(values)}, Site(reference_point="AIR"))
    ship, _ = measured(logs)
    assert np.abs(ship.zeros["O2", 0].zero).max() < 0.1
    assert np.abs(ship.background["O2"]).max() < 0.1


def test_display_that_never_goes_below_nought_is_noticed():
    visits, _, model = fitted(drifting(np.zeros(ROUNDS)))
    assert not model.clipped
    readings = drifting(np.zeros(ROUNDS))
    readings = readings.assign(value=readings["value"].clip(lower=0.0))
    assert fitted(readings)[2].clipped


@pytest.mark.parametrize("step", [0.1, 0.5, 1.0, 5.0])
def test_display_step_is_recognised(step):
    rng = np.random.default_rng(1)
    assert display_step(np.round(20 * rng.random(500) / step) * step) == pytest.approx(step)


def test_display_step_of_nothing():
    assert display_step(np.array([])) == 0.0
    assert display_step(np.array([3.0, 3.0, np.nan])) == 0.0


def test_noise_is_never_less_than_the_display_can_show():
    assert noise_of(np.full(50, 3.0), 0.5) == pytest.approx(0.25)
    rng = np.random.default_rng(2)
    assert noise_of(rng.normal(0, 0.4, 4000), 0.0) == pytest.approx(0.4, rel=0.1)


def test_zeros_of_two_analysers_are_kept_apart():
    values = quiet(("A", "B", "C", "X", "Y", "Z"), 300)
    for point in "XYZ":
        values[point, "HC"] += 5.0
    readings = history(values)
    side = readings["point"].astype("str").map(lambda p: "starboard" if p in "XYZ" else "port")
    ship, _ = measured(logs_of({"readings": readings.assign(analyser=side.astype("category"))}))
    assert set(ship.zeros) == {("HC", 0), ("HC", 1)}
    assert np.isfinite(ship.background["HC"]).all()


@pytest.mark.parametrize(
    ("note", "own"), [("analyser port", 8.0), ("analyser starboard", 0.0), ("analyser aft", 0.0)]
)
def test_zero_check_ties_the_analyser_that_its_note_names_and_no_other(note, own):
    values = quiet(("A", "B", "C", "X", "Y", "Z"), 300)
    for point in "ABC":
        values[point, "HC"] += 8.0  # all three read 9: a background, or a zero
    readings = history(values)
    side = readings["point"].astype("str").map(lambda p: "starboard" if p in "XYZ" else "port")
    readings = readings.assign(analyser=side.astype("category"))
    check = f'time action gas value reference note\n50:00 zero_check HC 1 0 "{note}"'
    ship, _ = measured(logs_of({"readings": readings, "operations": check}))
    background = dict(zip(ship.visits.points, ship.background["HC"], strict=True))
    # The check says that clean air read 1: only with it the rest is a background.
    assert background["A"] == pytest.approx(own, abs=0.5)
    unplaced = "name an analyser that the readings do not name (aft)"
    told = any(unplaced in sentence for sentence in learnt(ship, {}))
    assert told == (note == "analyser aft")


def test_gas_at_the_only_two_points_still_drawn_is_no_zero_even_with_a_check_at_the_time():
    def leak(values):
        for point in POINTS:
            if point in "AB":
                values[point, "HC"][500:560] += 50.0
            else:
                values[point, "HC"][490:600] = np.nan

    check = "time action point gas value\n171:40 zero_check - HC 0"
    visits, _, model = fitted(drifting(0.0 * DAYS, spoil=leak), operations=check, reference=None)
    assert np.abs(model.zero).max() < 3 * NOISE
    assert by_name(visits, model.background)["A"] == pytest.approx(OWN["A"], abs=NOISE)


def test_oxygen_check_in_clean_air_says_how_far_the_detector_is_off():
    rng = np.random.default_rng(8)
    readings = history(
        {(p, "O2"): np.round(20.6 + 0.05 * rng.standard_normal(ROUNDS), 2) for p in POINTS}
    )
    check = "time action gas value reference\n171:40 zero_check O2 20.6 20.9"
    logs = logs_of({"readings": readings, "operations": check})
    visits = build_visits(logs)
    model = fit_zero(visits, read_operations(logs, visits), "O2", analyser=0, reference=None)
    assert np.median(model.zero) == pytest.approx(-0.3, abs=0.05)
    assert np.abs(model.background).max() < 0.05


def test_zero_check_while_only_two_points_are_drawn_says_nothing_of_the_readings():
    def away(values):
        for point in POINTS[2:]:
            values[point, "HC"][400:800] = np.nan

    check = "time action point gas value\n200:00 zero_check - HC 9"
    readings = drifting(0.0 * DAYS, spoil=away)
    _, _, model = fitted(readings, operations=check, reference=None)
    assert model.anchored == "lowest points"
    np.testing.assert_allclose(model.zero, fitted(readings, reference=None)[2].zero)
