"""Times of one fixed form, read as a table of digits: what millions of rows go through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

_BLOCK = 1 << 20  # texts that are taken at a time
_EARLIEST, _LATEST = 1990, 2100  # years outside these are garbage in a log
_DAY = 86_400_000_000  # [us]


@dataclass(frozen=True)
class Fixed:
    """Times of one form, arrays of shape (m,) as in :class:`alarmsift.reading.times.Times`."""

    moment: np.ndarray
    aware: np.ndarray
    good: np.ndarray
    first: np.ndarray | None = None
    second: np.ndarray | None = None


def fixed_width(texts: pa.Array, order: str) -> Fixed | None:
    """Return the moments of texts that all have one form; None when they haven't.

    The forms are 2026-01-31T23:59:59, the same with Z, and 31.01.2026 23:59:59. This is ten times
    as fast as any parser.
    """
    size = len(texts)
    if not size or texts.null_count:
        return None
    offsets = np.frombuffer(texts.buffers()[1], dtype=np.int32)
    offsets = offsets[texts.offset : texts.offset + size + 1]
    width = int(offsets[1] - offsets[0])
    if width not in (19, 20) or not (np.diff(offsets) == width).all():
        return None
    letters = np.frombuffer(texts.buffers()[2], dtype=np.uint8)[offsets[0] : offsets[-1]]
    grid = letters.reshape(size, width)
    year_first = bool(grid[0, 4] == ord("-"))
    blocks = [slice(low, min(low + _BLOCK, size)) for low in range(0, size, _BLOCK)]
    if not all(_fits(grid[rows], year_first=year_first) for rows in blocks):
        return None
    moment, good = np.empty(size, dtype=np.int64), np.empty(size, dtype=bool)
    aware = np.full(size, width == 20)
    if year_first:
        for rows in blocks:
            year = _digits(grid[rows], 0) * 100 + _digits(grid[rows], 2)
            date = (year, _digits(grid[rows], 5), _digits(grid[rows], 8))
            moment[rows], good[rows] = _composed(grid[rows], date)
        return Fixed(moment, aware, good)
    first, second = np.empty(size, dtype=np.int16), np.empty(size, dtype=np.int16)
    for rows in blocks:
        first[rows], second[rows] = _digits(grid[rows], 0), _digits(grid[rows], 3)
        day, month = first[rows], second[rows]
        year = _digits(grid[rows], 6) * 100 + _digits(grid[rows], 8)
        date = (year, day, month) if order == "month-first" else (year, month, day)
        moment[rows], good[rows] = _composed(grid[rows], date)
    return Fixed(moment, aware, good, first, second)


def _composed(
    grid: np.ndarray, date: tuple[np.ndarray, np.ndarray, np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    return compose(*date, tuple(_digits(grid, at) for at in (11, 14, 17)))


def _fits(grid: np.ndarray, *, year_first: bool) -> bool:
    """Tell whether all texts have the marks and digits of one of the two forms."""
    marks = {4: b"-", 7: b"-"} if year_first else {2: b"-./", 5: b"-./"}
    marks |= {10: b"T ", 13: b":", 16: b":", 19: b"Z"}
    for at in range(grid.shape[1]):
        column = grid[:, at]
        if at not in marks:
            if int(column.min()) < ord("0") or int(column.max()) > ord("9"):
                return False
        elif not any((column == mark).all() for mark in marks[at]) and not (
            np.isin(column, list(marks[at])).all()
        ):
            return False
    return year_first or grid.shape[1] == 19


def _digits(grid: np.ndarray, at: int) -> np.ndarray:
    """Return the number that two letters of each text make, shape (m,)."""
    return (grid[:, at].astype(np.int16) - 48) * np.int16(10) + (grid[:, at + 1] - np.uint8(48))


def compose(
    year: np.ndarray, month: np.ndarray, day: np.ndarray, clock: tuple[np.ndarray, ...]
) -> tuple[np.ndarray, np.ndarray]:
    """Return microseconds since 1970 and whether such a date and time exist, each shape (m,)."""
    hour, minute, second = clock
    good = (year >= _EARLIEST) & (year < _LATEST) & (month >= 1) & (month <= 12) & (day >= 1)
    safe = np.where(good, (year.astype(np.int64) - 1970) * 12 + month - 1, 0)
    months = safe.astype("datetime64[M]")
    first = months.astype("datetime64[D]").astype(np.int64)
    length = (months + 1).astype("datetime64[D]").astype(np.int64) - first
    midnight = (hour == 24) & (minute == 0) & (second == 0)
    good &= (day <= length) & ((hour < 24) | midnight) & (minute < 60) & (second < 60)
    seconds = hour.astype(np.int64) * 3600 + minute.astype(np.int64) * 60 + second
    return (first + day - 1) * _DAY + seconds * 1_000_000, good
