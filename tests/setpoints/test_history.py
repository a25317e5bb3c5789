"""What counts as an event that every setting must raise anew."""

from dataclasses import replace

import pandas as pd
import pytest

from alarmsift.setpoints.history import histories
from tests.simulated import diagnosed


def events(levels, *, cause="spike", real=0.001, later=0.0):
    """Return the events at the low level where alarms of these levels were raised unsettled."""
    whole = diagnosed(3)
    limits = whole.setpoints[whole.setpoints["gas"] == "HC"]
    point = limits["point"].iloc[0]
    assert {"low", "high"} <= set(limits.loc[limits["point"] == point, "level"])
    alarm = whole.episodes.iloc[[0]].assign(
        point=point, gas="HC", kind="alarm", cause=cause, treat_as="unresolved", minutes=10.0
    )
    raised = whole.visits["time"].iloc[len(whole.visits) // 2]
    times = {"low": raised, "high": raised + pd.Timedelta(hours=later)}
    rows = [alarm.assign(level=one, raised=times[one], episode=one) for one in levels]
    chance = pd.DataFrame(0.0, index=list(levels), columns=whole.probabilities.columns)
    chance["gas"] = real
    alarms = pd.concat(rows, ignore_index=True)
    found = histories(replace(whole, episodes=alarms, probabilities=chance))
    return [h for h in found if (h.point, h.gas, h.level) == (point, "HC", "low")][0].events


def test_unsettled_spike_is_an_event():
    assert len(events(["low"])) == 1


def test_unsettled_spike_that_the_high_level_told_as_well_is_none_at_the_low():
    assert len(events(["low", "high"])) == 0


@pytest.mark.parametrize("words", [{"real": 0.05}, {"later": 24.0}])
def test_what_may_be_gas_or_was_not_told_at_once_stays_an_event(words):
    assert len(events(["low", "high"], **words)) == 1
