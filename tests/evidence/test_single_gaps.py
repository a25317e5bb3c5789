import numpy as np

from alarmsift.evidence.single_gaps import single_gaps
from alarmsift.pipeline.diagnose import measured
from tests.ten_rows import SETPOINTS, history, logs_of, quiet

POINTS = tuple("ABCDEF")
ROUNDS = 144  # of ten minutes
EVENTS = "time point gas event level state value\n"


def gaps(missing, *, events=None, mark=None):
    values = quiet(POINTS, ROUNDS)
    for point, first, last in missing:
        values[point, "HC"][first:last] = np.nan
    readings = history(values, cycle_min=10.0)
    if mark is not None:
        readings = mark(readings)
    tables = {"readings": readings, "setpoints": SETPOINTS}
    if events is not None:
        tables["events"] = EVENTS + events
    ship, table, _ = measured(logs_of(tables))
    found = single_gaps(ship, table)
    return [(ship.visits.points[int(row.point)], bool(row.silenced)) for row in found.itertuples()]


def test_point_that_falls_out_alone_is_a_gap_of_its_own():
    assert gaps([("B", 30, 60)]) == [("B", False)]


def test_point_that_falls_out_in_its_own_alarm_was_silenced():
    events = "4:30 B HC alarm low raised 12\n4:45 B HC alarm low cleared 5"
    assert gaps([("B", 30, 60)], events=events) == [("B", True)]


def test_alarm_of_another_point_silences_nothing():
    events = "4:30 C HC alarm low raised 12\n4:45 C HC alarm low cleared 5"
    assert gaps([("B", 30, 60)], events=events) == [("B", False)]


def test_lines_of_three_spaces_that_went_off_together_were_off_for_ballast():
    assert gaps([("A", 30, 80), ("B", 33, 90), ("C", 40, 85)]) == []


def test_line_that_is_drawn_but_gives_no_reading_is_a_gap_though_others_are_off():
    # A fault at every visit: the line is plugged in, and no air comes.
    def drawn(readings):
        out = history(quiet(POINTS, ROUNDS), cycle_min=10.0)
        lost = out.merge(readings[["time", "point", "gas"]], how="left", indicator=True)
        blank = (lost["_merge"] == "left_only").to_numpy() & (out["point"] == "A").to_numpy()
        keep = (lost["_merge"] == "both").to_numpy() | blank
        out["value"] = out["value"].mask(blank)
        out["status"] = out["status"].astype(object).mask(blank, "fault").astype("category")
        return out[keep].reset_index(drop=True)

    missing = [("A", 30, 80), ("B", 33, 90), ("C", 40, 85), ("D", 40, 85)]
    assert gaps(missing, mark=drawn) == [("A", False)]
