"""The list of all alarms on the first page."""

import dataclasses

from alarmsift.report import alarm_list as module
from alarmsift.report.alarm_list import alarm_list
from alarmsift.report.page_names import page_names


def test_every_alarm_is_listed_the_latest_first(diagnosis):
    shown = alarm_list(diagnosis, page_names(diagnosis.points))
    assert {line.episode for line in shown.lines} == set(diagnosis.episodes["episode"])
    times = [line.raised.iso for line in shown.lines]
    assert times == sorted(times, reverse=True)
    assert (shown.hidden, shown.hidden_gas) == (0, 0)


def test_an_alarm_that_treats_as_gas_is_the_last_to_be_left_out(diagnosis, monkeypatch):
    grave = int(diagnosis.episodes["treat_as"].isin(["gas", "unresolved"]).sum())
    monkeypatch.setattr(module, "MOST_ALARMS", grave)
    shown = alarm_list(diagnosis, {})
    assert all(line.gas for line in shown.lines)
    assert (shown.hidden, shown.hidden_gas) == (len(diagnosis.episodes) - grave, 0)
    monkeypatch.setattr(module, "MOST_ALARMS", grave - 1)
    assert alarm_list(diagnosis, {}).hidden_gas == 1


def test_an_open_alarm_lasts_to_the_last_day_and_an_unknown_verdict_counts_as_gas(diagnosis):
    episodes = diagnosis.episodes.copy()
    episodes.loc[episodes.index[0], "treat_as"] = "something new"
    episodes["peak"] = float("nan")
    shown = alarm_list(dataclasses.replace(diagnosis, episodes=episodes), {})
    last = next(line for line in shown.lines if line.open)
    assert last.last_day == "2026-03-31"  # ship's time
    first = next(line for line in shown.lines if line.episode == episodes["episode"].iloc[0])
    assert first.gas
    assert first.treat_as == "unresolved"
