"""A file turned into the plain layout, every cell still text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from alarmsift.reading.header import Name
from alarmsift.reading.sheet import Sheet, TextColumn


@dataclass(frozen=True)
class Draft:
    """Rows of one plain table, made from one file.

    Attributes
    ----------
    sheet : Sheet
        The file.
    table, layout : str
        Table of the contract, and the shape it had in the file.
    columns : dict of str to TextColumn
        Plain column -> cells, shape (k,).
    rows : array of int64, shape (k,)
        Which row of the sheet each draft row comes from; never falling.
    written : dict
        Plain column -> its name in the file (for messages).
    units : dict
        Plain column -> unit written in the header or in a units row.
    exact : frozenset
        Plain columns that bear the plain name itself.
    value_names : array of str, shape (k,), optional
        Name of the file's column that each ``value`` comes from, where there are several.
    left_out : tuple of str
        Columns of the file that no plain column was found for.
    found_in : TextColumn, optional, shape (k,)
        Free texts that name the points, or may do so better than the column of points.
    said : tuple of str
        How the layout understood its file, as sentences.
    """

    sheet: Sheet
    table: str
    layout: str
    columns: dict[str, TextColumn]
    rows: np.ndarray
    written: dict[str, str]
    units: dict[str, str] = field(default_factory=dict)
    exact: frozenset[str] = frozenset()
    value_names: TextColumn | None = None
    left_out: tuple[str, ...] = ()
    found_in: TextColumn | None = None
    said: tuple[str, ...] = ()


@dataclass(frozen=True)
class Layout:
    """One shape of file.

    Attributes
    ----------
    name : str
    table_of : callable
        Header names -> the table that such a file holds; blank when it is not this shape.
    draft : callable
        Sheet and its header names -> draft.
    """

    name: str
    table_of: Callable[[list[Name]], str]
    draft: Callable[[Sheet, list[Name], str], Draft]


def pick(names: list[Name], wanted: set[str]) -> dict[str, int]:
    """Return plain column -> number of the file's column; an exact name goes first."""
    out: dict[str, int] = {}
    for exact in (True, False):
        for number, name in enumerate(names):
            if name.exact == exact and name.plain in wanted:
                out.setdefault(name.plain, number)
    return out


def left_out(names: list[Name], used: set[int]) -> tuple[str, ...]:
    """Return the file's columns that are not used, as written; nameless ones are left unsaid."""
    return tuple(n.written for i, n in enumerate(names) if i not in used and n.written)


def unit_of(sheet: Sheet, number: int, name: Name) -> str:
    """Return the unit of a file's column: from its header cell, else from the units row."""
    return name.unit or sheet.units.get(number, "")
