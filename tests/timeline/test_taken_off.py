import numpy as np

from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

OPS = "time action point gas value\n"
DAY = 144  # rounds of ten minutes


def off(operations, values, spoil=None):
    readings = history(values, cycle_min=10.0)
    if spoil is not None:
        readings = spoil(readings)
    logs = logs_of({"readings": readings, "operations": OPS + operations})
    visits = build_visits(logs)
    spans = read_operations(logs, visits).disconnected
    return [
        (visits.points[p], round(a, 1), round(b, 1))
        for p, a, b in zip(spans.point, spans.start, spans.end, strict=True)
    ]


def missing(first, last):
    values = quiet(("A", "B", "C"), DAY)
    values["A", "HC"][first:last] = np.nan
    return values


def test_line_is_off_between_its_two_rows():
    ops = "2:00 disconnect A - -\n5:00 reconnect A - -"
    assert off(ops, missing(12, 30)) == [("A", 2.0, 5.0)]


def test_line_whose_readings_are_back_is_connected_though_no_row_says_so():
    (span,) = off("2:00 disconnect A - -", missing(12, 30))
    assert span[:2] == ("A", 2.0)
    assert 4.7 < span[2] < 5.3


def test_line_put_back_was_off_though_no_row_says_when_it_came_off():
    (span,) = off("5:00 reconnect A - -", missing(12, 30))
    assert span[0] == "A"
    assert 1.6 < span[1] < 2.1
    assert 4.7 < span[2] < 5.3


def test_readings_that_never_stopped_do_not_end_a_disconnection():
    assert off("2:00 disconnect A - -", quiet(("A", "B", "C"), DAY)) == [("A", 2.0, np.inf)]


def test_line_taken_off_again_counts_though_the_row_that_put_it_back_is_missing():
    values = quiet(("A", "B", "C"), DAY)
    values["A", "HC"][12:30] = np.nan
    values["A", "HC"][60:90] = np.nan
    ops = "2:00 disconnect A - -\n10:00 disconnect A - -\n15:00 reconnect A - -"
    (first, second) = off(ops, values)
    assert first[1] == 2.0
    assert 4.7 < first[2] < 5.3
    assert second == ("A", 10.0, 15.0)


def test_disconnect_row_while_the_line_is_off_is_a_repeat():
    ops = "2:00 disconnect A - -\n3:00 disconnect A - -\n5:00 reconnect A - -"
    assert off(ops, missing(12, 30)) == [("A", 2.0, 5.0)]


def test_line_put_back_full_of_water_was_off_until_it_was_drawn_again():
    def wet(readings):
        clock = (readings["time"] - readings["time"].iloc[0]) / np.timedelta64(1, "h")
        mine = (readings["point"] == "A") & (clock > 4.9) & (clock < 9.0)
        status = readings["status"].astype("str").mask(mine, "fault")
        return readings.assign(status=status.astype("category"))

    (span,) = off("5:00 reconnect A - -", missing(12, 30), wet)
    assert 1.6 < span[1] < 2.1
    assert 4.7 < span[2] < 5.3
