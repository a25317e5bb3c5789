import numpy as np
import pytest

from alarmsift.evidence.choking import alarm_ahead, flow_left, fresh_share, low_flow_limit
from alarmsift.evidence.poor_line import poor_spans
from alarmsift.pipeline.diagnose import measured
from tests.ten_rows import history, logs_of, quiet

POINTS = tuple("ABCDEF")
ROUNDS = 72 * 6  # of 20 min
DAY = 72
EVENTS = "time point gas event level state value\n"
POINT_ROWS = "point space kind length_m bore_mm\n" + "\n".join(
    f"{p} S{p} void 100 8" for p in POINTS
)


def ship(lines=None, *, events=None, gauged=True, operations=None):
    rng = np.random.default_rng(1)
    flow = {p: 8.0 * (1 + 0.01 * rng.standard_normal(ROUNDS)) for p in POINTS}
    suction = {p: 6.0 * (1 + 0.01 * rng.standard_normal(ROUNDS)) for p in POINTS}
    if lines is not None:
        lines(flow, suction)
    columns = {"flow": flow, "suction": suction} if gauged else {}
    tables = {"readings": history(quiet(POINTS, ROUNDS), **columns), "points": POINT_ROWS}
    if events is not None:
        tables["events"] = EVENTS + events
    if operations is not None:
        tables["operations"] = "time action point gas value\n" + operations
    return measured(logs_of(tables))[0]


def named(found):
    spans = poor_spans(found)
    return [(found.visits.points[x.point], "water" if x.water > 0 else "blocked") for x in spans]


def loses(point, first, last, share, *, taken=None):
    def change(flow, suction):
        flow[point][first:last] *= share
        suction[point][first:last] *= 1.4 if taken is None else taken

    return change


def test_clean_lines_are_not_poor():
    assert named(ship()) == []


def test_loss_that_stands_for_days_is_a_blockage():
    assert named(ship(loses("B", DAY, 5 * DAY, 0.3))) == [("B", "blocked")]


def test_loss_that_grows_over_days_is_a_blockage():
    grown = np.exp(-np.linspace(0.0, 1.5, 4 * DAY))
    found = ship(loses("B", DAY, 5 * DAY, grown, taken=1.0 + 0.1 * np.linspace(0, 1, 4 * DAY)))
    assert named(found) == [("B", "blocked")]


def test_loss_for_some_hours_during_a_fill_is_water():
    rows = "23:00 ballast_fill_start B - -\n32:00 ballast_fill_end B - -"
    assert named(ship(loses("B", DAY, DAY + 24, 0.3), operations=rows)) == [("B", "water")]


def test_loss_that_comes_and_goes_for_a_day_and_grows_is_slugs_of_water():
    grown = np.exp(-np.linspace(0.3, 1.5, DAY))
    grown[5::6] = 1.0  # every second hour or so the line is blown clear

    def change(flow, suction):
        flow["B"][DAY : 2 * DAY] *= grown
        suction["B"][DAY : 2 * DAY] *= np.where(grown < 1.0, 1.4, 1.0)

    assert named(ship(change)) == [("B", "water")]


def test_loss_that_lines_of_many_spaces_share_is_not_the_lines():
    def change(flow, suction):
        # A second pump that no column names: three of the lines lose the same in the same hours.
        for p in "DEF":
            flow[p][2 * DAY : 4 * DAY] *= 0.6
            suction[p][2 * DAY : 4 * DAY] *= 1.3

    def one(flow, suction):
        change(flow, suction)
        loses("C", 2 * DAY, 4 * DAY, 0.6, taken=1.3)(flow, suction)

    assert named(ship(one)) == []


def test_low_flow_alarms_stand_in_where_no_flow_is_logged():
    events = "30:00 B - fault low_flow raised -\n120:00 B - fault low_flow cleared -"
    found = ship(gauged=False, events=events)
    assert named(found) == [("B", "blocked")]
    assert np.isnan(poor_spans(found)[0].depth)


def test_low_flow_alarms_of_many_lines_that_end_together_are_the_pumps():
    events = "\n".join(
        f"{hour}:00 {p} - fault low_flow raised -\n120:00 {p} - fault low_flow cleared -"
        for hour, p in ((30, "B"), (40, "C"), (50, "D"))
    )
    assert named(ship(gauged=False, events=events)) == []


def test_choked_line_says_what_is_left_of_its_flow_and_own_air():
    found = ship(loses("B", DAY, 5 * DAY, 0.3))
    (span,) = poor_spans(found)
    assert flow_left(found, span) == pytest.approx(0.3, abs=0.03)
    # 100 m of 8 mm hold 5.03 L (pi d2/4 L); 2.4 L/min for a turn of 20/6 min draw 8 L.
    assert fresh_share(found, span) == pytest.approx(1 - 5.03 / 8.0, abs=0.06)


def test_low_flow_alarm_is_foreseen_where_a_line_chokes_on_under_a_known_limit():
    course = np.exp(-0.3 * np.arange(2 * DAY) / DAY - 0.7)

    def change(flow, suction):
        flow["B"][-2 * DAY :] *= course
        suction["B"][-2 * DAY :] *= 1.2
        for k in range(3):
            flow["C"][30 + 20 * k : 35 + 20 * k] = 1.5

    # The times of the table are hours and minutes.
    raised = "\n".join(
        f"{(30 + 20 * k) // 3}:{20 * ((30 + 20 * k) % 3) + 7:02d} C - fault low_flow raised -\n"
        f"{(36 + 20 * k) // 3}:{20 * ((36 + 20 * k) % 3) + 7:02d} C - fault low_flow cleared -"
        for k in range(3)
    )
    found = ship(change, events=raised)
    assert low_flow_limit(found) == pytest.approx(1.5, abs=0.05)
    span = next(x for x in poor_spans(found) if found.visits.points[x.point] == "B")
    ahead = alarm_ahead(found, span)
    assert ahead is not None
    # From 8 exp(-1.3) L/min at 0.3 a day down to 1.5 L/min: ln(2.18 / 1.5) / 0.3 = 1.24 days.
    assert ahead[0] < 1.24 * 24 < ahead[1]


def test_line_that_chokes_no_further_has_no_forecast():
    found = ship(loses("B", 4 * DAY, ROUNDS, 0.4))
    (span,) = poor_spans(found)
    assert alarm_ahead(found, span) is None
