"""What counts as an event that every setting must raise anew."""

from dataclasses import replace

import pandas as pd
import pytest

from alarmsift.setpoints.history import histories
from tests.simulated import diagnosed


def events(levels, *, level="low", later=0.0, **told):
    """Return the events at a level where alarms of these levels were raised.

    ``told`` says otherwise than an unsettled spike of little chance of gas; a pair is about low and
    high.
    """
    told = {"cause": "spike", "treat_as": "unresolved", "real": 0.001} | told
    both = {name: one if isinstance(one, tuple) else (one, one) for name, one in told.items()}
    of = {name: dict(zip(("low", "high"), one, strict=True)) for name, one in both.items()}
    whole = diagnosed(3)
    limits = whole.setpoints[whole.setpoints["gas"] == "HC"]
    point = limits["point"].iloc[0]
    assert {"low", "high"} <= set(limits.loc[limits["point"] == point, "level"])
    alarm = whole.episodes.iloc[[0]].assign(point=point, gas="HC", kind="alarm", minutes=10.0)
    raised = whole.visits["time"].iloc[len(whole.visits) // 2]
    times = {"low": raised, "high": raised + pd.Timedelta(hours=later)}
    rows = [
        alarm.assign(
            level=one,
            raised=times[one],
            episode=one,
            cause=of["cause"][one],
            treat_as=of["treat_as"][one],
        )
        for one in levels
    ]
    chance = pd.DataFrame(0.0, index=list(levels), columns=whole.probabilities.columns)
    chance["gas"] = [of["real"][one] for one in levels]
    alarms = pd.concat(rows, ignore_index=True)
    found = histories(replace(whole, episodes=alarms, probabilities=chance))
    return [h for h in found if (h.point, h.gas, h.level) == (point, "HC", level)][0].events


def test_unsettled_spike_is_an_event():
    assert len(events(["low"])) == 1


def test_unsettled_spike_that_the_high_level_told_as_well_is_none_at_the_low():
    assert len(events(["low", "high"])) == 0
    assert len(events(["low", "high"], level="high")) == 1


@pytest.mark.parametrize(
    "words",
    [
        {"real": (0.05, 0.001)},
        {"later": 24.0},
        {"treat_as": ("unresolved", "nuisance")},  # the high one would go with the change
        {"cause": ("spike", "tight_setpoint")},
        {"treat_as": "gas"},  # found by an engineer, whatever the signs say
    ],
)
def test_what_may_be_gas_or_was_not_told_at_once_stays_an_event(words):
    assert len(events(["low", "high"], **words)) == 1
