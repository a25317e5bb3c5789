import numpy as np
import pytest

from alarmsift.evidence.line import clean_level, fit_lines
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

POINTS = ("A", "B", "C", "D", "E", "F")
ROUNDS = 72 * 8
LATE = slice(400, ROUNDS)
# Clean lines of growing length: flow [L/min] falls, suction [kPa] rises.
FLOW = dict(zip(POINTS, (10.0, 9.0, 8.0, 7.0, 6.0, 5.0), strict=True))
SUCTION = dict(zip(POINTS, (6.0, 7.0, 8.0, 9.0, 10.0, 11.0), strict=True))


def lines(*, spoil=None, columns=("flow", "suction")):
    rng = np.random.default_rng(3)
    flow = {p: FLOW[p] * (1 + 0.02 * rng.standard_normal(ROUNDS)) for p in POINTS}
    suction = {p: SUCTION[p] * (1 + 0.02 * rng.standard_normal(ROUNDS)) for p in POINTS}
    if spoil is not None:
        spoil(flow, suction)
    logged = {"flow": flow, "suction": suction}
    readings = history(quiet(POINTS, ROUNDS), **{name: logged[name] for name in columns})
    visits = build_visits(logs_of({"readings": readings}))
    return visits, fit_lines(visits)


def late(visits, series, point):
    mine = visits.of(visits.points.index(point))
    return float(np.median(series[mine][LATE]))


def test_clean_lines_are_at_nought():
    visits, line = lines()
    assert line.columns == "flow and suction"
    for point in POINTS:
        assert late(visits, line.own, point) == pytest.approx(0.0, abs=0.05)
        assert late(visits, line.flow_share, point) == pytest.approx(1.0, abs=0.05)
    assert line.clean_flow == pytest.approx(list(FLOW.values()), rel=0.03)


def choke(flow, suction):
    """Half the conductance in C: flow down to 0.75, suction up by half."""
    flow["C"][LATE] *= 0.75
    suction["C"][LATE] *= 1.5


def test_choked_line_is_found_and_its_neighbours_are_not():
    visits, line = lines(spoil=choke)
    assert late(visits, line.own, "C") == pytest.approx(np.log(0.5), abs=0.06)
    for point in set(POINTS) - {"C"}:
        assert late(visits, line.own, point) == pytest.approx(0.0, abs=0.06)
    assert late(visits, line.common_share, "C") == pytest.approx(1.0, abs=0.05)


def test_head_is_the_suction_that_the_clean_line_does_not_explain():
    visits, line = lines(spoil=choke)
    # Suction 12 kPa at 6 L/min; the clean line needs 8 kPa at 8 L/min, so 6 kPa at 6 L/min.
    assert late(visits, line.head, "C") == pytest.approx(6.0, abs=0.5)
    assert late(visits, line.head, "A") == pytest.approx(0.0, abs=0.5)


def worn_pump(flow, suction):
    """Flow and suction fall together everywhere: laminar lines, dp proportional to flow."""
    for point in POINTS:
        flow[point][LATE] *= 0.6
        suction[point][LATE] *= 0.6


def test_worn_pump_leaves_every_lines_own_resistance_unchanged():
    visits, line = lines(spoil=worn_pump)
    for point in POINTS:
        assert late(visits, line.own, point) == pytest.approx(0.0, abs=0.06)
        assert late(visits, line.common_share, point) == pytest.approx(0.6, abs=0.05)


def air_leak(flow, suction):
    """A joint lets in air: 30 % more flow at the same suction."""
    flow["B"][LATE] *= 1.3


def test_air_leak_shows_as_a_line_better_than_clean():
    visits, line = lines(spoil=air_leak)
    assert late(visits, line.own, "B") == pytest.approx(np.log(1.3), abs=0.06)


def test_flow_alone_still_tells_one_line_from_all():
    visits, line = lines(spoil=choke, columns=("flow",))
    assert line.columns == "flow"
    assert late(visits, line.own, "C") == pytest.approx(np.log(0.75), abs=0.06)
    assert late(visits, line.own, "D") == pytest.approx(0.0, abs=0.06)


def test_suction_alone_tells_a_choked_line():
    visits, line = lines(spoil=choke, columns=("suction",))
    assert line.columns == "suction"
    assert late(visits, line.own, "C") < -0.2


def test_nothing_logged_says_nothing():
    visits, line = lines(columns=())
    assert line.columns == "none"
    assert np.isnan(line.own).all()
    assert np.isnan(line.flow_share).all()


def test_flow_of_nought_has_a_logarithm():
    def shut(flow, suction):
        flow["C"][LATE] = 0.0

    visits, line = lines(spoil=shut)
    assert np.isfinite(line.own).all()
    assert late(visits, line.own, "C") < -2.0


def test_clean_is_the_level_a_line_keeps_to_most():
    blocks = np.array([[0.0] * 60 + [-0.7] * 30]).T
    assert clean_level(blocks).tolist() == [0.0]


def test_line_choked_for_most_of_the_log_was_clean_before():
    blocks = np.array([[0.0] * 20 + [-0.7] * 70]).T
    assert clean_level(blocks).tolist() == [0.0]
