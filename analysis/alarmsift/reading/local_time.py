"""From the ship's clock to UTC, through summer time and every clock that was put forward or back.

The clock is a row of spans, each with its offset from UTC. A local time that lies in two spans (the
hour that came twice) is settled by the order of rows in the file: rows before the step back belong
to the first pass, rows after it to the second. A local time that lies in no span (the hour that was
jumped over) is read in the old clock, so that nothing is lost.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd

from alarmsift.tables.clock import ShipClock, tz

_HOUR = 3_600_000_000  # [us]
_MINUTE = 60_000_000
_STEP_BACK = _MINUTE  # smaller steps back are disorder of the log, not of the clock
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Spans:
    """The clock as spans of constant offset.

    Attributes
    ----------
    starts : array of int64, shape (s,)
        UTC [us] from which each offset holds; the first is the far past.
    offsets : array of int64, shape (s,)
        Offset from UTC [us].
    """

    starts: np.ndarray
    offsets: np.ndarray


def spans_of(zone: str, first: int, last: int, changes: list[tuple[int, int]]) -> Spans:
    """Return the spans of a zone between two times, then of the clock changes.

    Parameters
    ----------
    zone : str
        As in ``ShipClock.zone``.
    first, last : int
        Span of interest, UTC [us]; a day is added on both sides.
    changes : list of (int, int)
        Moment (UTC) and new offset, both [us], in order; the zone ends at the first.
    """
    first, last = first - 26 * _HOUR, last + 26 * _HOUR
    if changes:
        last = max(first, min(last, changes[0][0] - 1))
    found = [(np.iinfo(np.int64).min // 4, _offset(zone, first))]
    grid = np.arange(first, last + _HOUR, _HOUR)
    zoned = pd.DatetimeIndex(pd.to_datetime(grid, unit="us", utc=True)).tz_convert(tz(zone))
    local = zoned.tz_localize(None).as_unit("us").asi8
    offsets = local - grid
    for step in np.flatnonzero(np.diff(offsets)).tolist():
        moment = _bisect(zone, int(grid[step]), int(grid[step + 1]))
        if not changes or moment < changes[0][0]:
            found.append((moment, int(offsets[step + 1])))
    found += changes
    return Spans(np.array([s for s, _ in found]), np.array([o for _, o in found]))


def _offset(zone: str, moment: int) -> int:
    when = (_EPOCH + timedelta(microseconds=moment)).astimezone(tz(zone))
    shift = when.utcoffset() or timedelta()
    return int(shift / timedelta(microseconds=1))


def _bisect(zone: str, low: int, high: int) -> int:
    """Return the moment of the one change of offset after ``low``, to the second."""
    before = _offset(zone, low)
    while high - low > 1_000_000:
        middle = (low + high) // 2 // 1_000_000 * 1_000_000
        if middle <= low:
            break
        low, high = (middle, high) if _offset(zone, middle) == before else (low, middle)
    return high


def to_utc(local: np.ndarray, spans: Spans, *, group: np.ndarray | None = None) -> np.ndarray:
    """Return UTC [us] of local times [us], shape (n,), in the order of rows in the file.

    Parameters
    ----------
    local : array of int64, shape (n,)
    spans : Spans
    group : array of int, shape (n,), optional
        Series (point and gas) of each row; used where the file is sorted by series, not by time.
    """
    order = _reading_order(local, group)
    out = np.empty_like(local)
    out[order] = _in_order(local[order], spans)
    return out


def _reading_order(local: np.ndarray, group: np.ndarray | None) -> np.ndarray:
    """Return the order in which the clock ran: as written, or series by series."""
    order = np.arange(len(local))
    if group is None or len(local) < 2:
        return order
    back = int((np.diff(local) < -_STEP_BACK).sum())
    return order if back <= 3 + len(local) // 1000 else np.argsort(group, kind="stable")


def _in_order(local: np.ndarray, spans: Spans) -> np.ndarray:
    # Local time from which each span is taken: after a step forward when the new clock shows it,
    # after a step back when the old clock has run out.
    shown = np.maximum(spans.offsets, np.roll(spans.offsets, 1))
    begins = np.maximum.accumulate(spans.starts + shown)
    begins[0] = np.iinfo(np.int64).min // 2
    which = np.asarray(np.searchsorted(begins, local, "right")) - 1
    out = local - spans.offsets[which]
    for number in np.flatnonzero(np.diff(spans.offsets) < 0).tolist():
        old, new = spans.offsets[number], spans.offsets[number + 1]
        low, high = spans.starts[number + 1] + new, spans.starts[number + 1] + old
        inside = np.flatnonzero((local >= low) & (local <= high))
        if len(inside):
            second = _second_pass(local, inside, high)
            out[inside] = local[inside] - np.where(second, new, old)
    return out


def _second_pass(local: np.ndarray, inside: np.ndarray, high: int) -> np.ndarray:
    """Return which rows of the repeated hour belong to its second pass, shape (k,)."""
    times = local[inside]
    steps = np.diff(times)
    if len(steps) and steps.min() < -_STEP_BACK:
        return np.arange(len(times)) > int(np.argmin(steps))
    before = times[0] - local[inside[0] - 1] if inside[0] > 0 else _HOUR * 24
    after = local[inside[-1] + 1] - times[-1] if inside[-1] + 1 < len(local) else _HOUR * 24
    if before > after:  # the log goes on smoothly behind the hour, not before it
        return np.ones(len(times), dtype=bool)
    # A row exactly at the end of the hour is the next regular time, unless a step back follows.
    return np.asarray(times == high)


def clock_changes(
    local: np.ndarray, aware: np.ndarray, hours: np.ndarray, zone: str
) -> tuple[list[tuple[int, int]], np.ndarray]:
    """Return the changes of the clock by ``clock`` operations, and the UTC of each such row.

    Parameters
    ----------
    local, aware : array, shape (k,)
        The rows' own times [us]: in the clock that was still valid, unless they say their offset.
    hours : array of float, shape (k,)
        New offset from UTC [h].

    Returns
    -------
    (list of (moment, offset) [us], array of int64, shape (k,))
    """
    changes: list[tuple[int, int]] = []
    moments = np.zeros(len(local), dtype=np.int64)
    told: dict[tuple[int, float], int] = {}
    offset: int | None = None
    for at in np.argsort(local, kind="stable").tolist():
        same = (int(local[at]), float(hours[at]))
        if same not in told:
            told[same] = _moment(int(local[at]), bool(aware[at]), offset, zone)
            offset = round(same[1] * _HOUR)
            changes.append((told[same], offset))
        moments[at] = told[same]
    return sorted(changes), moments


def _moment(local: int, aware: bool, offset: int | None, zone: str) -> int:
    if aware:
        return local
    if offset is not None:
        return local - offset
    return int(to_utc(np.array([local]), spans_of(zone, local, local, []))[0])


def ship_clock(zone: str, changes: list[tuple[int, int]]) -> ShipClock:
    """Return the clock in the form that later rooms use."""
    made = tuple(
        (pd.Timestamp(moment, unit="us", tz="UTC"), offset / _HOUR) for moment, offset in changes
    )
    return ShipClock(zone=zone, changes=made)
