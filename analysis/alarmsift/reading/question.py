"""A question to the user: three of their own rows, each with the ways in which it can be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

import numpy as np

from alarmsift.reading.draft import Draft
from alarmsift.reading.sheet import TextColumn

ROWS = 3


def toml_key(name: str) -> str:
    """Return a name as a key of TOML: bare where that is allowed, else in quotes.

    Examples
    --------
    >>> toml_key("Vacuum"), toml_key("Vac 1")
    ('vacuum', '"Vac 1"')
    """
    if re.fullmatch(r"[A-Za-z0-9_-]+", name):
        return name.lower()
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def rows_shown(
    draft: Draft,
    column: TextColumn,
    rows: np.ndarray,
    readings: Mapping[str, Callable[[str], str]],
) -> list[str]:
    """Return up to three lines, one a row, with what each way of reading makes of the cell.

    Parameters
    ----------
    draft : Draft
    column : TextColumn, shape (k,)
    rows : array of int, shape (any,)
        Draft rows to choose from; cells that read alike are shown once.
    readings : dict
        Name of a way of reading -> the cell read so.
    """
    out: list[str] = []
    seen: set[str] = set()
    for row in rows[:2000].tolist():
        text = str(column.text(np.array([row]))[0])
        if text in seen:
            continue
        seen.add(text)
        ways = " | ".join(f"{name}: {read(text)}" for name, read in readings.items())
        out.append(f"row {int(draft.sheet.lines[draft.rows[row]])}: '{text[:40]}' -> {ways}")
        if len(out) == ROWS:
            break
    return out
