"""Which rows and cells of one file can be used, and what is said about the others."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.reading.draft import Draft
from alarmsift.reading.sheet import Refusal, TextColumn, smallest


class Judge:
    """The verdicts on the rows of one draft.

    Attributes
    ----------
    dead : array of bool, shape (k,)
        Draft rows that can't be used.
    """

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        self.dead = np.zeros(len(draft.rows), dtype=bool)
        self._cells: list[tuple[np.ndarray, str, str]] = []
        self._rows: list[tuple[np.ndarray, str, str]] = []

    def row(self, rows: np.ndarray, column: str, reason: str) -> None:
        """Refuse draft rows because of one cell; in a merged or wide file only that one value.

        ``rows`` are the rows' numbers, in order.
        """
        new = rows[~self.dead[rows]]
        if len(new):
            self.dead[new] = True
            self._rows.append((new, column, reason))

    def cell(self, rows: np.ndarray, column: str, reason: str) -> None:
        """Refuse cells; their rows stay."""
        new = rows[~self.dead[rows]]
        if len(new):
            self._cells.append((new, column, reason))

    def survivors(self) -> np.ndarray:
        """Return which rows of the sheet keep at least one draft row, shape (n,)."""
        alive = np.zeros(len(self.draft.sheet.lines), dtype=bool)
        rows = self.draft.rows
        alive[rows[~self.dead] if self.dead.any() else rows] = True
        return alive

    def refusals(self) -> list[Refusal]:
        """Return everything refused: one entry a rejected row, one a refused cell."""
        if not self._rows and not self._cells:
            return []
        alive = self.survivors()
        out: list[Refusal] = []
        listed = np.zeros(len(alive), dtype=bool)
        for index, column, reason in self._rows:
            rows = self.draft.rows[index]
            gone = ~alive[rows]
            first = gone & ~listed[rows] & _first_of_each(rows)
            listed[rows[first]] = True
            out.append(self._refusal(index[first], column, reason, whole_row=True))
            words = f"{reason}; the other values of the row were kept"
            out.append(self._refusal(index[~gone], column, words, whole_row=False))
        for index, column, reason in self._cells:
            kept = index[alive[self.draft.rows[index]] & ~self.dead[index]]
            once = kept[_first_of_each(self.draft.rows[kept])] if column != "value" else kept
            out.append(self._refusal(once, column, f"{reason}; the row was kept", whole_row=False))
        return [refusal for refusal in out if len(refusal.rows)]

    def _refusal(self, index: np.ndarray, column: str, reason: str, *, whole_row: bool) -> Refusal:
        """Return a refusal of draft rows, its column named as in the file."""
        draft = self.draft
        cells = draft.columns.get(column)
        texts = np.full(len(index), "", dtype=object) if cells is None else cells.text(index)
        if column != "text" and "text" in draft.columns:  # else nobody knows which alarm it was
            texts = np.where(texts == "", draft.columns["text"].text(index), texts)
        name: str | np.ndarray = draft.written.get(column, column)
        if column == "value" and draft.value_names is not None and len(index):
            name = draft.value_names.text(index)
        lines = draft.sheet.lines[draft.rows[index]]
        return Refusal(lines, name, texts, reason, whole_row)


def _first_of_each(rows: np.ndarray) -> np.ndarray:
    """Return which entries are the first of their kind, shape (k,)."""
    first: np.ndarray = ~pd.Series(rows).duplicated().to_numpy()
    return first


def labels(
    column: TextColumn, translate: Callable[[str], str] | None = None
) -> tuple[pd.Categorical, np.ndarray]:
    """Return a column of few distinct texts as categories, and the rows that didn't translate.

    Parameters
    ----------
    column : TextColumn, shape (n,)
    translate : callable, optional
        Text -> plain word, blank when there is none. It is asked once a distinct text.

    Returns
    -------
    (Categorical, shape (n,); array of int64)
        Blank cells are missing and never among the rows.
    """
    texts = column.texts.to_pylist()
    words = [translate(text) if translate is not None and text else text for text in texts]
    used = column.used() > 0
    names = sorted({word for word, use in zip(words, used, strict=True) if word and use})
    place = {name: number for number, name in enumerate(names)}
    lookup = np.array([place.get(word, -1) for word in words], dtype=smallest(len(names)))
    bad = np.array([bool(text) and not word for text, word in zip(texts, words, strict=True)])
    return categorical(lookup[column.codes], names), column.rows(bad)


def categorical(codes: np.ndarray, names: list[str]) -> pd.Categorical:
    """Return texts from their places in ``names``, -1 = missing, shape (n,)."""
    kind = pd.CategoricalDtype(pd.Index(names, dtype="str"))
    return pd.Categorical.from_codes(codes, dtype=kind, validate=False)


def texts(column: TextColumn) -> pd.Series:
    """Return a column as pandas text, blank = missing, shape (n,)."""
    whole = pa.DictionaryArray.from_arrays(pa.array(column.codes), column.texts).cast(pa.string())
    series = pd.Series(whole.to_pandas(), dtype="str")
    return series.where(series != "")
