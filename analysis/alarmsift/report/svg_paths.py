"""Lines, boxes and marks as path data of an SVG (SVG 1.1, 8.3), in whole tenths of a point.

A tenth of a point [1/72 inch] is finer than a screen's dot. In whole tenths, each place told by
its step from the one before, a line takes a third of the bytes of places with decimals; and
whole steps add up without rounding.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

# Marks as shapes of half their size in whole numbers of twelfths, by their letter.
_SQUARE = ((-12, -12), (12, -12), (12, 12), (-12, 12))
_CORNERS: dict[str, tuple[tuple[int, int], ...]] = {
    "^": ((0, -12), (12, 12), (-12, 12)),
    "v": ((0, 12), (12, -12), (-12, -12)),
    ">": ((12, 0), (-12, 12), (-12, -12)),
    "s": _SQUARE,
    "D": ((0, -17), (17, 0), (0, 17), (-17, 0)),
    "d": ((0, -17), (10, 0), (0, 17), (-10, 0)),
    "P": (
        *((-4, -12), (4, -12), (4, -4), (12, -4), (12, 4), (4, 4)),
        *((4, 12), (-4, 12), (-4, 4), (-12, 4), (-12, -4), (-4, -4)),
    ),
}
_STROKES: dict[str, tuple[tuple[int, int, int, int], ...]] = {
    "x": ((-12, -12, 24, 24), (-12, 12, 24, -24)),
    "|": ((0, -12, 0, 24),),
}


def polyline(x: np.ndarray, y: np.ndarray) -> str:
    """Return a line that breaks at NaN; points on the way of a straight stretch are left out.

    Parameters
    ----------
    x, y : array, shape (n,)
        Places in tenths of a point.

    Examples
    --------
    >>> polyline(np.array([1.0, 2.0, 9.0, 9.0]), np.array([5.0, 5.0, 5.0, 2.0]))
    'M1 5l8 0 0-3'
    """
    whole = np.isfinite(x) & np.isfinite(y)
    places = np.rint(np.column_stack([x, y])[whole]).astype(np.int64)
    broken = np.diff(np.flatnonzero(whole)) > 1
    ends = [0, *(np.flatnonzero(broken) + 1), len(places)]
    return "".join(_run(places[a:b]) for a, b in zip(ends, ends[1:], strict=False) if b > a)


def _run(places: np.ndarray) -> str:
    steps = np.diff(places, axis=0)
    steps = steps[steps.any(axis=1)]
    if not len(steps):
        return f"M{_numbers(places[0])}h0"  # a dot where lines have round ends, else nothing
    before, after = steps[:-1], steps[1:]
    turns = before[:, 0] * after[:, 1] != before[:, 1] * after[:, 0]
    turns |= (before * after).sum(axis=1) < 0
    last = np.append(np.flatnonzero(turns), len(steps) - 1)
    joined = np.diff(np.cumsum(steps, axis=0)[last], axis=0, prepend=0)
    return f"M{_numbers(places[0])}l{_numbers(joined.ravel())}"


def _numbers(values: Iterable[int]) -> str:
    """Return whole numbers with a space only where a minus does not part them."""
    return "".join(f"{v}" if v < 0 else f" {v}" for v in map(int, values)).removeprefix(" ")


def box(left: float, top: float, right: float, bottom: float) -> str:
    """Return a rectangle at least a tenth wide and high.

    Examples
    --------
    >>> box(1.0, 2.0, 11.0, 5.0)
    'M1 2h10v3h-10z'
    """
    x, y = round(left), round(top)
    wide, high = max(round(right) - x, 1), max(round(bottom) - y, 1)
    return f"M{_numbers((x, y))}h{wide}v{high}h-{wide}z"


def marks(x: np.ndarray, y: np.ndarray, letter: str, size: float) -> str:
    """Return a mark at each place; NaN has none.

    Parameters
    ----------
    x, y : array, shape (n,)
        Places in tenths of a point.
    letter : str
        ``o`` or one of ``^ v > s D d P x |``.
    size : float
        Width of the mark in tenths of a point.
    """
    shape = _shape(letter, size)
    there = np.isfinite(x) & np.isfinite(y)
    return "".join(
        f"M{_numbers((round(a), round(b)))}{shape}" for a, b in zip(x[there], y[there], strict=True)
    )


def _shape(letter: str, size: float) -> str:
    """Return what follows the middle of a mark, in steps from there."""
    if letter == "o":
        half = max(round(size / 2), 1)
        side = f"a{half} {half} 0 1 0"
        return f"m-{half} 0{side} {2 * half} 0{side}-{2 * half} 0z"
    unit = size / 24
    if letter in _STROKES:
        parts = (tuple(round(unit * v) for v in stroke) for stroke in _STROKES[letter])
        way, out = (0, 0), ""
        for x, y, across, down in parts:
            out += f"m{_numbers((x - way[0], y - way[1], across, down))}"
            way = (x + across, y + down)
        return out
    corners = np.rint(unit * np.array(_CORNERS[letter])).astype(np.int64)
    return f"m{_numbers(np.diff(corners, axis=0, prepend=0).ravel())}z"
