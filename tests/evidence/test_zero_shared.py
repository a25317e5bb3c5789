import numpy as np

from alarmsift.evidence.zero import fit_zero
from alarmsift.evidence.zero_shared import shared_zero
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of

POINTS = ("A", "B", "C", "D", "E", "F", "G", "H", "I")
ROUNDS = 72 * 20  # 20 min rounds
DAYS = np.arange(ROUNDS) / 72.0
NOISE = 0.2


def zero_of(common, *, step=0.1, floor=None, spoil=None):
    """Return the zero that the points share, each with a background, and its true course."""
    rng = np.random.default_rng(3)
    values = {}
    for number, point in enumerate(POINTS):
        shown = 0.4 * number + common + NOISE * rng.standard_normal(ROUNDS)
        values[point, "HC"] = shown
    if spoil is not None:
        spoil(values)
    values = {key: np.round(shown / step) * step for key, shown in values.items()}
    if floor is not None:
        values = {key: np.maximum(shown, floor) for key, shown in values.items()}
    logs = logs_of({"readings": history(values)})
    visits = build_visits(logs)
    model = fit_zero(visits, read_operations(logs, visits), "HC", analyser=0, reference=0)
    return shared_zero(model, model.zero), np.interp(model.blocks.hours, DAYS * 24.0, common)


def test_drift_is_followed_though_two_points_lose_what_they_always_showed():
    def fall(values):
        for point in ("H", "I"):
            values[point, "HC"] += np.where(DAYS > 8.0, -5.0, 3.0)

    zero, truth = zero_of(0.2 * DAYS, spoil=fall)
    told = np.isfinite(zero)
    assert told.mean() > 0.9
    assert np.abs(np.diff(zero[told] - truth[told])).max() < 3.0 * NOISE
    assert np.ptp((zero - truth)[told]) < 1.0  # of 4 %LFL


def test_block_in_which_most_points_hold_gas_tells_nothing_of_the_zero():
    def vapour(values):
        for point in POINTS[2:]:
            values[point, "HC"] += np.where((DAYS > 6.0) & (DAYS < 8.0), 25.0, 0.0)

    zero, truth = zero_of(0.1 * DAYS, spoil=vapour)
    days = np.arange(len(zero)) * 20.0 / len(zero)
    assert np.isnan(zero[(days > 6.3) & (days < 7.7)]).all()
    clear = (days < 5.5) | (days > 8.5)
    assert np.abs(zero - truth)[clear].max() < 0.5


def test_display_on_its_floor_says_no_more_than_that_the_zero_is_lower():
    zero, _ = zero_of(1.0 - 0.4 * DAYS, floor=0.0)
    days = np.arange(len(zero)) * 20.0 / len(zero)
    told = np.isfinite(zero)
    assert told[days < 2.5].mean() > 0.9
    assert not told[days > 9.0].any()  # from there on most points show nought
    slope = np.polyfit(days[told], zero[told], 1)[0]
    assert abs(slope + 0.4) < 0.08


def test_drift_is_seen_between_the_steps_of_a_coarse_display():
    zero, _ = zero_of(0.06 * DAYS, step=1.0)
    days = np.arange(len(zero)) * 20.0 / len(zero)
    assert abs(np.polyfit(days, zero, 1)[0] - 0.06) < 0.015
