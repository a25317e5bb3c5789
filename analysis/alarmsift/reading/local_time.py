"""From the ship's clock to UTC, through summer time and every clock that was put forward or back.

The clock is a row of spans, each with its offset from UTC. A local time that lies in two spans (the
hour that came twice) is settled by the order of rows in the file: rows before the step back belong
to the first pass, rows after it to the second. A local time that lies in no span (the hour that was
jumped over) is read in the old clock, so that nothing is lost.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd

from alarmsift.tables.clock import ShipClock, tz

_HOUR = 3_600_000_000  # [us]
_MINUTE = 60_000_000
_STEP_BACK = _MINUTE  # smaller steps back are disorder of the log, not of the clock
_STRAY = 3  # rows with a wrong time that may stand within the hour that came twice
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


def to_utc(
    local: np.ndarray, spans: Spans, *, group: np.ndarray | None = None
) -> tuple[np.ndarray, int]:
    """Return UTC [us] of local times [us], shape (n,), in the order of rows in the file.

    Parameters
    ----------
    local : array of int64, shape (n,)
    spans : Spans
    group : array of int, shape (n,), optional
        Series (point and gas) of each row; used where the file is sorted by series, not by time.

    Returns
    -------
    (array of int64, shape (n,); int)
        The second: how many rows of an hour that came twice nothing decides (first pass taken).
    """
    order = _reading_order(local, group)
    series = (
        np.zeros(len(local), dtype=np.int64) if order is None or group is None else group[order]
    )
    if order is None:
        return _in_order(local, series, spans)
    out = np.empty_like(local)
    out[order], unsure = _in_order(local[order], series, spans)
    return out, unsure


def _reading_order(local: np.ndarray, group: np.ndarray | None) -> np.ndarray | None:
    """Return the order in which the clock ran, series by series; None = as written."""
    back = int((np.diff(local) < -_STEP_BACK).sum())
    if group is None or back <= 3 + len(local) // 1000:
        return None
    return np.argsort(group, kind="stable")


def _in_order(local: np.ndarray, series: np.ndarray, spans: Spans) -> tuple[np.ndarray, int]:
    # Local time from which each span is taken: after a step forward when the new clock shows it,
    # after a step back when the old clock has run out.
    shown = np.maximum(spans.offsets, np.roll(spans.offsets, 1))
    begins = np.maximum.accumulate(spans.starts + shown)
    begins[0] = np.iinfo(np.int64).min // 2
    which = np.asarray(np.searchsorted(begins, local, "right")) - 1
    out, unsure = local - spans.offsets[which], 0
    for number in np.flatnonzero(np.diff(spans.offsets) < 0).tolist():
        old, new = spans.offsets[number], spans.offsets[number + 1]
        low, high = spans.starts[number + 1] + new, spans.starts[number + 1] + old
        inside = np.flatnonzero((local >= low) & (local <= high))
        for run in _runs(inside, series):
            second, sure = _second_pass(local, run, high)
            out[run] = local[run] - np.where(second, new, old)
            unsure += 0 if sure else len(run)
    return out, unsure


def _runs(inside: np.ndarray, series: np.ndarray) -> list[np.ndarray]:
    """Return stretches of neighbouring rows of one series; a few stray rows don't part them."""
    if not len(inside):
        return []
    parted = (np.diff(inside) > _STRAY) | (np.diff(series[inside]) != 0)
    return np.split(inside, np.flatnonzero(parted) + 1)


def _second_pass(local: np.ndarray, inside: np.ndarray, high: int) -> tuple[np.ndarray, bool]:
    """Return which rows of the repeated hour belong to its second pass, shape (k,).

    Also whether the rows decide it at all: those of a sparse log may not.
    """
    times = local[inside]
    steps = np.diff(times)
    if len(steps) and steps.min() < -_STEP_BACK:
        return np.arange(len(times)) > int(np.argmin(steps)), True
    before = _distance(local, int(inside[0]), -1)
    after = _distance(local, int(inside[-1]), 1)
    # A row exactly at the end of the hour is the next regular time, unless a step back follows.
    sure = bool(min(before, after) < _HOUR) or bool((times == high).all())
    if sure and before > after:  # the log goes on smoothly behind the hour, not before it
        return np.ones(len(times), dtype=bool), True
    return np.asarray(times == high), sure


def _distance(local: np.ndarray, row: int, step: int) -> int:
    """Return how far [us] the neighbouring row is, a day when there is none in order."""
    if not 0 <= row + step < len(local):
        return 24 * _HOUR
    distance = int(local[row + step] - local[row]) * step
    return distance if distance >= 0 else 24 * _HOUR


def clock_in_words(note: object) -> tuple[float, float]:
    """Return the new offset and the step [h] that a remark tells; NaN for what it doesn't.

    Examples
    --------
    >>> clock_in_words("clocks to UTC+3")[0], clock_in_words("Clocks retarded 30 min")[1]
    (3.0, -0.5)
    """
    text = note if isinstance(note, str) else ""
    to = re.search(r"(?:UTC|GMT)\s*([+-])\s*(\d{1,2})(?::(\d{2}))?", text, re.IGNORECASE)
    if to:
        hours = int(to[2]) + int(to[3] or 0) / 60
        return (-hours if to[1] == "-" else hours), np.nan
    # Bounded, and no number's tail: in a remark of a million digits every one would start a search.
    by = re.search(r"(?<!\d)(\d{1,4}(?:[.,]\d{1,6})?)\s*(h|min)", text, re.IGNORECASE)
    way = re.search(r"(advanc|forward|ahead)|(retard|back)", text, re.IGNORECASE)
    if not by or not way:
        return np.nan, np.nan
    hours = float(by[1].replace(",", ".")) / (60 if by[2].lower() == "min" else 1)
    return np.nan, hours if way[1] else -hours


def clock_changes(
    local: np.ndarray,
    aware: np.ndarray,
    hours: np.ndarray,
    zone: str,
    *,
    steps: np.ndarray | None = None,
) -> tuple[list[tuple[int, int]], np.ndarray]:
    """Return the changes of the clock by ``clock`` operations, and the UTC of each such row.

    Parameters
    ----------
    local, aware : array, shape (k,)
        The rows' own times [us]: in the clock that was still valid, unless they say their offset.
    hours : array of float, shape (k,)
        New offset from UTC [h]; NaN where a step is given.
    zone : str
        Valid before the first.
    steps : array of float, shape (k,), optional
        By how much the clock was put forward [h].

    Returns
    -------
    (list of (moment, offset) [us], array of int64, shape (k,))
    """
    changes: list[tuple[int, int]] = []
    moments = np.zeros(len(local), dtype=np.int64)
    told: dict[tuple[int, str], int] = {}
    offset: int | None = None
    for at in np.argsort(local, kind="stable").tolist():
        step = np.nan if steps is None else float(steps[at])
        same = (int(local[at]), f"{hours[at]} {step}")
        if same not in told:
            told[same] = _moment(int(local[at]), bool(aware[at]), offset, zone)
            before = _offset(zone, told[same]) if offset is None else offset
            new = before / _HOUR + step if np.isnan(hours[at]) else float(hours[at])
            offset = round(new * _HOUR)
            changes.append((told[same], offset))
        moments[at] = told[same]
    return sorted(changes), moments


def _moment(local: int, aware: bool, offset: int | None, zone: str) -> int:
    if aware:
        return local
    if offset is not None:
        return local - offset
    return int(to_utc(np.array([local]), spans_of(zone, local, local, []))[0][0])


def ship_clock(zone: str, changes: list[tuple[int, int]]) -> ShipClock:
    """Return the clock in the form that later rooms use."""
    made = tuple(
        (pd.Timestamp(moment, unit="us", tz="UTC"), offset / _HOUR) for moment, offset in changes
    )
    return ShipClock(zone=zone, changes=made)
