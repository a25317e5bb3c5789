"""Ship's time and UTC: one clock with its changes, and the way back and forth."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class ShipClock:
    """The clock that the ship's logs are written in.

    Attributes
    ----------
    zone : str
        ``"UTC"``, ``"UTC+3"``, ``"UTC-03:30"`` or an IANA zone: valid until the first change.
    changes : tuple of (Timestamp, float)
        Moments (UTC) from which a new offset from UTC [h] holds, in order.
    """

    zone: str = "UTC"
    changes: tuple[tuple[pd.Timestamp, float], ...] = ()

    def to_ship(self, times: pd.Series) -> pd.Series:
        """Return naive ship's times, shape (n,), of UTC times, shape (n,)."""
        times = pd.to_datetime(times, utc=True)
        base = times.dt.tz_convert(tz(self.zone)).dt.tz_localize(None)
        if not self.changes:
            return base
        starts = pd.DatetimeIndex([moment for moment, _ in self.changes]).as_unit("us")
        hours = np.array([offset for _, offset in self.changes])
        which = np.asarray(starts.searchsorted(pd.DatetimeIndex(times).as_unit("us"), "right")) - 1
        shifted = times.dt.tz_localize(None) + pd.to_timedelta(
            pd.Series(hours[np.maximum(which, 0)] * 3600.0, index=times.index), unit="s"
        )
        return base.where(pd.Series(which < 0, index=times.index), shifted)

    def show(self, time: pd.Timestamp | None, form: str = "%Y-%m-%d %H:%M") -> str:
        """Return one UTC time as ship's time text; blank for a missing time."""
        if time is None or pd.isna(time):
            return ""
        return str(self.to_ship(pd.Series([time])).iloc[0].strftime(form))


def tz(zone: str) -> tzinfo:
    """Return the time zone of a ``clock`` setting.

    Raises
    ------
    ValueError
        When it is neither UTC, UTC±h[:mm] nor an IANA zone.

    Examples
    --------
    >>> tz("UTC-03:30").utcoffset(None)
    datetime.timedelta(days=-1, seconds=73800)
    """
    text = zone.strip()
    if text.upper() in {"UTC", "Z", "GMT"}:
        return UTC
    if text.upper().startswith("UTC") and text[3:4] in {"+", "-"}:
        sign = -1 if text[3] == "-" else 1
        hours, _, minutes = text[4:].partition(":")
        return timezone(sign * timedelta(hours=int(hours), minutes=int(minutes or 0)))
    try:
        return ZoneInfo(text)
    except (KeyError, OSError, ValueError) as error:
        raise ValueError(f"'{zone}' is not a time zone") from error
