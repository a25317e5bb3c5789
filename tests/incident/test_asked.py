"""The window as a user asks for it: ship's time, UTC, and every way to get it wrong."""

from __future__ import annotations

import pandas as pd
import pytest

from alarmsift.errors import InputError
from alarmsift.incident.asked import checked, utc_of
from alarmsift.incident.clock_words import clock_words
from alarmsift.incident.known_at import logs_up_to
from alarmsift.reading.folder import read_logs
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.incident import Asked

BACK = ShipClock("UTC+3", ((pd.Timestamp("2026-03-02T01:00Z"), 2.0),))
ON = ShipClock("UTC+2", ((pd.Timestamp("2026-03-02T01:00Z"), 3.0),))


@pytest.mark.parametrize(
    ("words", "utc"),
    [
        ("2026-03-02T05:00", "2026-03-02T03:00Z"),  # after the change: UTC+2
        ("2026-03-01 05:00", "2026-03-01T02:00Z"),  # before it: UTC+3
        ("2026-03-02T05:00Z", "2026-03-02T05:00Z"),
        ("2026-03-02T05:00+01:00", "2026-03-02T04:00Z"),
    ],
)
def test_a_time_without_an_offset_is_ships_time(words: str, utc: str):
    assert utc_of(words, BACK, "--from") == pd.Timestamp(utc)


def test_an_hour_that_the_clock_showed_twice_must_be_told_apart():
    with pytest.raises(InputError, match="shown twice"):
        utc_of("2026-03-02T03:30", BACK, "--from")


def test_an_hour_that_the_clock_skipped_is_refused():
    with pytest.raises(InputError, match="skipped"):
        utc_of("2026-03-02T03:30", ON, "--from")


def test_summer_time_of_a_zone_is_known():
    oslo = ShipClock("Europe/Oslo")  # clocks go on at 01:00 UTC on 29 March 2026 (EU 2000/84/EC)
    assert utc_of("2026-03-29T03:30", oslo, "--to") == pd.Timestamp("2026-03-29T01:30Z")
    with pytest.raises(InputError, match="skipped"):
        utc_of("2026-03-29T02:30", oslo, "--to")


def test_what_is_no_time_is_refused_with_an_example():
    with pytest.raises(InputError, match=r"--to '02\.03\.2026' is not a time.*2026-03-01T06:00"):
        utc_of("02.03.2026", ShipClock(), "--to")


@pytest.mark.parametrize(
    ("asked", "match"),
    [
        (("2026-03-02T09:00Z", "2026-03-02T08:00Z"), "not later than"),
        (("2026-04-02T09:00Z", "2026-04-02T10:00Z"), "no row of the logs lies between"),
        (("2026-03-02T08:00Z", "2026-03-02T09:00Z", ("WBT 1",)), "Did you mean 'WBT 1"),
        (("2026-03-02T08:00Z", "2026-03-02T09:00Z", (), "2026-03-02T07:00Z"), "before --from"),
    ],
)
def test_a_window_that_cannot_be_had_is_refused(night, asked, match):
    start, end, *rest = asked
    points = rest[0] if rest else ()
    known = pd.Timestamp(rest[1]) if len(rest) > 1 else None
    with pytest.raises(InputError, match=match):
        checked(Asked(pd.Timestamp(start), pd.Timestamp(end), points, known), read_logs(night))


def test_a_clock_set_back_within_the_window_is_a_doubt_that_is_stated(night):
    from dataclasses import replace

    logs = replace(read_logs(night), clock=BACK)
    asked = Asked(pd.Timestamp("2026-03-01T20:00Z"), pd.Timestamp("2026-03-02T08:00Z"))
    words = " ".join(clock_words(logs, _nothing(), asked))
    assert "moved by -1 h about 2026-03-02 01:00 UTC" in words
    assert "twice" in words
    early = replace(asked, end=pd.Timestamp("2026-03-01T22:00Z"))
    early = replace(early, known_at=early.end)
    assert "moved" not in " ".join(clock_words(logs_up_to(logs, early.end), _nothing(), early))


def test_rows_that_run_backwards_are_a_doubt_that_names_the_first(night):
    logs = read_logs(night)
    events = logs.events.copy()
    events.loc[1, "time"] = pd.Timestamp("2026-03-02T06:31Z")
    from dataclasses import replace

    asked = Asked(pd.Timestamp("2026-03-02T05:00Z"), pd.Timestamp("2026-03-03T13:00Z"))
    words = " ".join(clock_words(replace(logs, events=events), _nothing(), asked))
    assert "In events.csv, 1 rows of the window are earlier than the row above" in words
    assert "row 3" in words


def _nothing() -> pd.DataFrame:
    return pd.DataFrame(columns=["time", "point", "gas", "level", "past", "already"])
