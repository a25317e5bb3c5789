"""The window that a user asks for, in UTC, or a sentence why it can't be had."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from datetime import datetime

import pandas as pd

from alarmsift.errors import InputError
from alarmsift.tables.clock import ShipClock, tz
from alarmsift.tables.incident import Asked
from alarmsift.tables.logs import Logs

TIMED = ("readings", "events", "operations", "findings")


def utc_of(words: str, clock: ShipClock, option: str) -> pd.Timestamp:
    """Return a time as the user wrote it, in UTC; without an offset it is ship's time.

    Raises
    ------
    InputError
        When it is no ISO 8601 time, or one that the ship's clock skipped or showed twice.

    Examples
    --------
    >>> utc_of("2026-03-01 06:00", ShipClock("UTC+2"), "--from")
    Timestamp('2026-03-01 04:00:00+0000', tz='UTC')
    """
    try:
        moment = pd.Timestamp(datetime.fromisoformat(words.strip()))
    except ValueError as error:
        raise InputError(
            f"{option} '{words}' is not a time.",
            mend="Write it as 2026-03-01T06:00 (ship's time) or 2026-03-01T04:00Z (UTC).",
        ) from error
    if moment.tz is not None:
        return moment.tz_convert("UTC").as_unit("us")
    fits = _fits(moment.as_unit("us"), clock)
    if len(fits) == 1:
        return fits[0]
    told = "was skipped when the clock went on" if not fits else "was shown twice by the clock"
    raise InputError(
        f"{option} '{words}' {told} on board.",
        mend="Write it with its offset, such as 2026-03-01T06:00+02:00, or in UTC with Z.",
    )


def _fits(local: pd.Timestamp, clock: ShipClock) -> list[pd.Timestamp]:
    """Return the UTC times at which the ship's clock showed ``local``."""
    zone = tz(clock.zone)
    offsets = {pd.Timedelta(hours=hours) for _, hours in clock.changes}
    for days in (-1, 0, 1):
        near = (local + pd.Timedelta(days=days)).tz_localize("UTC").tz_convert(zone)
        offsets.add(pd.Timedelta(near.utcoffset()))
    tried = pd.Series(sorted((local - offset).tz_localize("UTC") for offset in offsets))
    tried = tried.astype("datetime64[us, UTC]")
    return list(tried[clock.to_ship(tried) == local])


def checked(asked: Asked, logs: Logs) -> Asked:
    """Return what was asked for, with its end at ``known_at`` where that is earlier.

    Raises
    ------
    InputError
        When the window is empty, no row lies in it, or a point is not in the logs.
    """
    start, end = asked.start, asked.end
    if asked.known_at is not None:
        if asked.known_at < start:
            raise InputError(
                f"--as-known-at {_utc(asked.known_at)} lies before --from {_utc(start)}.",
                mend="Give a time within the window or after it.",
            )
        end = min(end, asked.known_at)
    if end < start or asked.end <= start:
        raise InputError(
            f"--to {_utc(asked.end)} is not later than --from {_utc(start)}.",
            mend="Give the earlier time with --from.",
        )
    _known_points(asked.points, logs)
    times = [getattr(logs, name)["time"] for name in TIMED]
    if not any(((time >= start) & (time <= end)).any() for time in times):
        every = pd.concat(times).dropna()
        span = f"{_utc(every.min())} to {_utc(every.max())}" if len(every) else "no time at all"
        raise InputError(
            f"no row of the logs lies between {_utc(start)} and {_utc(end)} (they span {span}).",
            mend="A time without an offset is ship's time; add Z for UTC.",
        )
    return Asked(start, end, tuple(sorted(set(asked.points))), asked.known_at, asked.left_out)


def _known_points(points: Sequence[str], logs: Logs) -> None:
    names = {str(p) for name in ("readings", "events", "points") for p in getattr(logs, name).point}
    for point in points:
        if point not in names:
            near = difflib.get_close_matches(point, sorted(names), 1)
            raise InputError(
                f"there is no point '{point}' in the logs.",
                mend=f"Did you mean '{near[0]}'?"
                if near
                else "'alarmsift diagnose' lists the points.",
            )


def _utc(time: pd.Timestamp) -> str:
    return f"{time.strftime('%Y-%m-%d %H:%M')} UTC"
