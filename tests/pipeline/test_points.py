"""What a reader is told first of a point."""

import numpy as np
import pandas as pd
import pytest

from alarmsift.pipeline.diagnose import measured
from alarmsift.pipeline.points import points_table
from alarmsift.tables.diagnosis import CONDITION_COLUMNS, EPISODE_COLUMNS
from tests.ten_rows import SETPOINTS, at, history, logs_of, quiet

NOTHING = pd.DataFrame(columns=CONDITION_COLUMNS)


def headline(*, after, episodes):
    """Return what is said of A, whose alarm at 5:00 ended at 8:00; ``after`` is what it reads."""
    values = quiet(("A", "B", "C"), 80)
    values["A", "HC"][15:25] = 15.0
    values["A", "HC"][25:] = after
    ship, _, _ = measured(logs_of({"readings": history(values), "setpoints": SETPOINTS}))
    rows = points_table(ship, pd.DataFrame(episodes, columns=EPISODE_COLUMNS), NOTHING)
    return rows.set_index("point").loc["A"]


def episode(**cells):
    usual = {
        "point": "A", "gas": "HC", "level": "low", "kind": "alarm", "raised": at("5:00"),
        "cleared": at("8:00"), "ended_by": "disconnect", "treat_as": "nuisance", "why": "Because.",
        "next_check": "Look.",
    }  # fmt: skip
    return {**usual, **cells}


@pytest.mark.parametrize("how", ["disconnect", "setpoint"])
@pytest.mark.parametrize(("after", "clean"), [(1.0, True), (9.5, False), (np.nan, False)])
def test_alarm_ended_by_hand_asks_for_a_person_until_a_clean_reading(how, after, clean):
    said = headline(after=after, episodes=[episode(ended_by=how)])
    assert ("no clean reading since" in said["headline"]) is not clean
    assert bool(said["needs_person"]) is not clean


def test_alarms_are_counted_in_words():
    one = headline(after=1.0, episodes=[episode(treat_as="gas")])
    three = headline(after=1.0, episodes=[episode(treat_as="gas")] * 3)
    assert one["headline"].startswith("1 alarm: possible gas.")
    assert three["headline"].startswith("3 alarms: possible gas.")
