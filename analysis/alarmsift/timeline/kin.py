"""Which points belong together: the same space, and neighbouring spaces."""

from __future__ import annotations

import re

import numpy as np
import pandas as pd

# How the points of one space are told apart in their names, as a rule (CP).
_WHICH = re.compile(
    r"[\s\-_./(]*(?:upper|lower|top|bottom|btm|bot|mid|up|lo|fwd|aft|[ul]|\d{1,2}|[a-d])\)?$", re.I
)
# A running number in front of the name, as in "SP12/WBT 4P" (CP).
_TAG = re.compile(r"^[a-z]{1,3}\d+\s*[/_:]\s*", re.I)


def kin_of(points: tuple[str, ...], table: pd.DataFrame) -> np.ndarray:
    """Return which points share a space, shape (P, P), diagonal False.

    By the points table; where it says no space, by names that differ only in their last part
    (upper, lower, 1, 2, ...).

    Examples
    --------
    >>> empty = pd.DataFrame({"point": [], "space": [], "neighbours": []})
    >>> kin_of(("WBT 1P UP", "WBT 1P LO", "VOID"), empty)[0].tolist()
    [False, True, False]
    """
    about = table.drop_duplicates("point").set_index("point")
    space = np.array([_space(name, about) for name in points] or [""], dtype=object)
    out = (space[:, None] == space[None, :]) & (space != "")[:, None]
    out = out[: len(points), : len(points)]
    np.fill_diagonal(out, False)
    return np.asarray(out, bool)


def neighbours_of(points: tuple[str, ...], table: pd.DataFrame) -> np.ndarray:
    """Return which points are listed as neighbours of each other, shape (P, P)."""
    index = {name: code for code, name in enumerate(points)}
    out = np.zeros((len(points), len(points)), bool)
    for name, listed in zip(table["point"], table["neighbours"], strict=True):
        for other in str(listed).split() if isinstance(listed, str) else []:
            if name in index and other in index and other != name:
                out[index[name], index[other]] = out[index[other], index[name]] = True
    return out


def _space(name: str, about: pd.DataFrame) -> str:
    stated = about["space"].get(name) if len(about) else None
    if isinstance(stated, str) and stated.strip():
        return stated.strip().lower()
    stem = _WHICH.sub("", _TAG.sub("", name.strip())).lower()
    numbered = re.search(r"\d", stem) or re.search(r"room|keel", stem)
    return stem if numbered and re.search(r"[a-z]", stem) else ""
