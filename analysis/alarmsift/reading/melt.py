"""Several columns of one kind of cell put into one: a row a cell, moment by moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from alarmsift.reading.sheet import TextColumn, encode, smallest


@dataclass(frozen=True)
class Melted:
    """The cells of some columns, those of the first row first.

    Attributes
    ----------
    rows : array of int64, shape (k,)
        Row of the sheet that each cell stands in; never falling.
    which : array of int, shape (k,)
        Number of the column that each cell stands in, among those given.
    cells : TextColumn, shape (k,)
    """

    rows: np.ndarray
    which: np.ndarray
    cells: TextColumn

    def named(self, texts: list[str]) -> TextColumn:
        """Return for each cell the text that belongs to its column, shape (k,)."""
        return TextColumn(self.which, pa.array(texts, pa.string()))


def melt(columns: list[TextColumn], *, keep_blank_rows: bool = False) -> Melted:
    """Return the cells that are not blank.

    Parameters
    ----------
    columns : list of TextColumn, each shape (n,)
        At least one.
    keep_blank_rows : bool
        A row all of whose cells are blank keeps them all.
    """
    size, width = len(columns[0].codes), len(columns)
    one = encode(pa.concat_arrays([column.texts for column in columns]))
    grid = np.empty((size, width), dtype=smallest(len(one.texts)))
    low = 0
    for number, column in enumerate(columns):
        high = low + len(column.texts)
        grid[:, number] = one.codes[low:high][column.codes]
        low = high
    cells = grid.ravel()
    kind = smallest(width)
    blank = one.texts.index("").as_py()
    full = blank < 0 or not (grid == blank).any()
    if not full:
        filled = grid != blank
        if keep_blank_rows:
            filled |= ~filled.any(axis=1)[:, None]
        full = bool(filled.all())
    if full:
        rows = np.repeat(np.arange(size), width)
        return Melted(rows, np.tile(np.arange(width, dtype=kind), size),
                      TextColumn(cells, one.texts))  # fmt: skip
    at = np.flatnonzero(filled)
    return Melted(np.repeat(np.arange(size), filled.sum(axis=1)), (at % width).astype(kind),
                  TextColumn(cells[at], one.texts))  # fmt: skip
