"""Packs long series into short texts that a page carries and its script unfolds again.

A value is counted in steps of its display, only the change from the value before is kept, and a
change takes one byte as a rule (LEB128, as in the DWARF Debugging Information Format, section 7.6).
The bytes are deflated (RFC 1951) and written as base64 (RFC 4648): a visit then costs a byte or two
a series, and every visit is there.
"""

from __future__ import annotations

import base64
import zlib
from typing import Final

import numpy as np

# Steps that displays and exports count in, the coarsest first.
STEPS: Final = (1.0, 0.5, 0.1, 0.05, 0.01)
FINEST: Final = 0.001  # of what fits none of them, as a value taken over from another unit
_NEAR: Final = 1e-6


def step_of(values: np.ndarray) -> float:
    """Return the coarsest step that all values are counted in, NaN left out.

    Examples
    --------
    >>> step_of(np.array([1.5, 2.0, np.nan])), step_of(np.array([1 / 3]))
    (0.5, 0.001)
    """
    good = values[np.isfinite(values)]
    for step in STEPS:
        counts = good / step
        if np.all(np.abs(counts - np.rint(counts)) < _NEAR):
            return step
    return FINEST


def pack(values: np.ndarray, *, step: float) -> str:
    """Return a series as text.

    Parameters
    ----------
    values : array, shape (n,)
        NaN where there is none.
    step : float
        What the values are counted in; they come back as the nearest multiple of it.

    Returns
    -------
    str
        Base64 of deflated LEB128 numbers, one a value: 0 for NaN, else one more than the change in
        steps since the last value, folded so that it is never negative (0, -1, 1, -2, ... as 0, 1,
        2, 3, ...).
    """
    good = np.isfinite(values)
    counts = np.rint(values[good] / step).astype(np.int64)
    change = np.diff(counts, prepend=0)
    codes = np.zeros(values.size, dtype=np.uint64)
    codes[good] = np.where(change < 0, -2 * change - 1, 2 * change) + 1
    squeezed = zlib.compressobj(9, zlib.DEFLATED, -15)
    raw = squeezed.compress(_leb128(codes)) + squeezed.flush()
    return base64.b64encode(raw).decode("ascii")


def pack_times(seconds: np.ndarray) -> str:
    """Return rising times [s] as text: what is packed is the wait before each, shape (n,)."""
    return pack(np.diff(np.rint(seconds), prepend=0.0), step=1.0)


def runs(words: np.ndarray, *, but: tuple[str, ...]) -> list[tuple[int, int, str]]:
    """Return (first, count, word) of each run of equal words, those in ``but`` left out.

    Examples
    --------
    >>> runs(np.array(["ok", "test", "test", "ok"], dtype=object), but=("ok",))
    [(1, 2, 'test')]
    """
    if not words.size:
        return []
    first = np.flatnonzero(np.append(True, words[1:] != words[:-1]))
    count = np.diff(np.append(first, words.size))
    keep = ~np.isin(words[first].astype(str), but)
    there = zip(first[keep], count[keep], words[first][keep], strict=True)
    return [(int(a), int(n), str(word)) for a, n, word in there]


def _leb128(codes: np.ndarray) -> bytes:
    """Return numbers as bytes of seven bits, the lowest first, the top bit set but in the last."""
    sizes = np.ones(codes.size, dtype=np.int64)
    for place in range(1, 10):
        sizes += (codes >> np.uint64(7 * place)) > 0
    start = np.cumsum(sizes) - sizes
    out = np.zeros(int(sizes.sum()), dtype=np.uint8)
    for place in range(int(sizes.max(initial=0))):
        there = sizes > place
        part = (codes[there] >> np.uint64(7 * place)) & np.uint64(127)
        more = np.where(sizes[there] > place + 1, 128, 0).astype(np.uint8)
        out[start[there] + place] = part.astype(np.uint8) | more
    return out.tobytes()
