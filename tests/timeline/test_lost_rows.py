"""A lost row leaves its turn empty; a skipped point gives its time to the next. CP, no source."""

import numpy as np

from alarmsift.timeline.lost_rows import turn_was_kept
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of, quiet

POINTS = ("A", "B", "C", "D", "E")


def kept(*, skipped):
    """Tell whether the turn of C that is missing from round 30 was kept."""
    readings = history(quiet(POINTS, 60), cycle_min=10.0)
    at = np.flatnonzero(readings["point"] == "C")[30]
    when = readings["time"].iloc[at]
    if skipped:
        later = readings["time"] > when
        step = readings["time"].iloc[at + 1] - when
        readings["time"] = readings["time"].where(~later, readings["time"] - step)
    readings = readings.drop(index=readings.index[at])
    visits = build_visits(logs_of({"readings": readings}))
    c = visits.points.index("C")
    hours = visits.hours[visits.of(c)]
    return bool(turn_was_kept(visits, np.array([c]), hours[29:30], hours[30:31])[0])


def test_row_was_lost_where_the_round_waited_for_it():
    assert kept(skipped=False)


def test_point_was_skipped_where_the_round_went_on_at_once():
    assert not kept(skipped=True)
