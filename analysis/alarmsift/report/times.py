"""Times as a reader sees them (ship's time with UTC beside) and as files hold them (UTC, Z)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.tables.clock import ShipClock


@dataclass(frozen=True)
class Moment:
    """One time: ship's time and UTC as text, and ISO 8601 for machines; blank when missing."""

    ship: str = ""
    utc: str = ""
    iso: str = ""


def moments(times: pd.Series, clock: ShipClock) -> list[Moment]:
    """Return the times of a column as a reader sees them.

    Parameters
    ----------
    times : Series of UTC times, shape (n,)
        May hold NaT.
    clock : ShipClock
        The clock of the logs.

    Returns
    -------
    list of Moment, length n
    """
    if not len(times):
        return []
    utc = pd.to_datetime(times, utc=True).reset_index(drop=True)
    ship, here = _minutes(clock.to_ship(utc)), _minutes(utc.dt.tz_localize(None))
    return [
        Moment(a, f"{b[11:] if a[:10] == b[:10] else b[5:]} UTC", text) if text else Moment()
        for a, b, text in zip(ship, here, iso(utc), strict=True)
    ]


def _minutes(naive: pd.Series) -> list[str]:
    """Return naive times as "2026-03-01 04:05"."""
    raw = naive.to_numpy().astype("datetime64[m]")
    return [text.replace("T", " ") for text in np.datetime_as_string(raw, unit="m").tolist()]


def moment(time: pd.Timestamp | None, clock: ShipClock) -> Moment:
    """Return one time as a reader sees it."""
    if time is None or pd.isna(time):
        return Moment()
    return moments(pd.Series([time], dtype="datetime64[us, UTC]"), clock)[0]


def iso(times: pd.Series) -> list[str]:
    """Return ISO 8601 texts in UTC with Z, blank for NaT, shape (n,).

    Fractions of a second are written only where there are any.

    Examples
    --------
    >>> iso(pd.Series(pd.to_datetime(["2026-03-01 04:05:06+03:00"])))
    ['2026-03-01T01:05:06Z']
    """
    utc = pd.to_datetime(times, utc=True)
    raw = utc.dt.tz_localize(None).to_numpy().astype("datetime64[us]")
    whole = np.datetime_as_string(raw, unit="s")
    fine = np.datetime_as_string(raw, unit="us")
    same = (raw == raw.astype("datetime64[s]")) | np.isnat(raw)
    texts = np.where(same, whole, fine)
    return ["" if nat else f"{text}Z" for text, nat in zip(texts, np.isnat(raw), strict=True)]


def duration(minutes: float) -> str:
    """Return a span of time in words.

    Examples
    --------
    >>> duration(95.0), duration(4.2), duration(60 * 24 * 3.5), duration(float("nan"))
    ('1 h 35 min', '4 min', '3.5 days', '')
    """
    if minutes is None or np.isnan(minutes):
        return ""
    if minutes < 60:
        return f"{minutes:.0f} min"
    if minutes < 60 * 48:
        hours, rest = divmod(round(minutes), 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days = minutes / 1440
    return f"{days:.1f} days" if days < 100 else f"{days:.0f} days"


def clock_words(clock: ShipClock) -> str:
    """Return the ship's clock in a few words."""
    if not clock.changes:
        return clock.zone
    hours = ", ".join(
        f"UTC{offset:+g} from {time.strftime('%Y-%m-%d %H:%M')} UTC"
        for time, offset in clock.changes
    )
    return f"{clock.zone}, then {hours}"
