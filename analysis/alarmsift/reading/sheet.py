"""A file as it stands on disk: every cell still the text that was written.

A column is kept as a dictionary: each distinct text once, and one small code a row. Logs repeat
themselves (points, gases, quantised values), so every later step looks at each distinct text once
and never at the rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

_BLOCK = 1 << 17  # rows that are counted at a time
_MANY = 10_000  # texts of a column from which it is worth asking whether they ascend


@dataclass(frozen=True)
class TextColumn:
    """One column of texts.

    Attributes
    ----------
    codes : array of int8, int16 or int32, shape (n,)
        Index into ``texts`` of each row's cell.
    texts : pyarrow string array, shape (m,)
        Distinct texts as written, without surrounding white space; a blank cell is ``""``.
    """

    codes: np.ndarray
    texts: pa.Array

    def at(self, rows: np.ndarray) -> TextColumn:
        """Return the column of the chosen rows, shape (k,), in that order."""
        return TextColumn(self.codes[rows], self.texts)

    def text(self, rows: np.ndarray) -> np.ndarray:
        """Return the cells of the chosen rows as an array of str, shape (k,)."""
        return np.asarray(self.texts.take(pa.array(self.codes[rows])).to_pylist(), dtype=object)

    def blank(self) -> np.ndarray:
        """Return which rows are blank, array of bool, shape (n,)."""
        return flags(pc.equal(self.texts, ""))[self.codes]

    def rows(self, marked: np.ndarray) -> np.ndarray:
        """Return the rows whose text is marked, in order.

        Parameters
        ----------
        marked : array of bool, shape (m,)
            One a distinct text. Most logs have no odd text, and then no row is looked at.
        """
        if not marked.any():
            return np.empty(0, dtype=np.int64)
        return np.flatnonzero(marked[self.codes])

    def blank_rows(self) -> np.ndarray:
        """Return the rows that are blank, in order."""
        return self.rows(flags(pc.equal(self.texts, "")))

    def used(self) -> np.ndarray:
        """Return how many rows hold each text, shape (m,)."""
        return counts(self.codes, len(self.texts))


def flags(array: pa.Array) -> np.ndarray:
    """Return a pyarrow boolean array as numpy, missing = False, shape (m,)."""
    return np.asarray(pc.fill_null(array, False).to_numpy(zero_copy_only=False), dtype=bool)


def counts(codes: np.ndarray, size: int) -> np.ndarray:
    """Return how often each of the codes 0 ... size - 1 occurs, shape (size,).

    numpy widens small codes before it counts them; a block at a time, that needs no memory.
    """
    block = max(_BLOCK, 4 * size)
    out = np.zeros(size, dtype=np.int64)
    for low in range(0, len(codes), block):
        out += np.bincount(codes[low : low + block], minlength=size)
    return out


def constant(text: str, length: int) -> TextColumn:
    """Return a column that holds the same text ``length`` times."""
    return TextColumn(np.zeros(length, dtype=np.int32), pa.array([text], pa.string()))


def encode(array: pa.Array | pa.ChunkedArray) -> TextColumn:
    """Return a pyarrow array of strings or of a dictionary of strings as a column."""
    if isinstance(array, pa.ChunkedArray):
        array = _ascending(array) or array.unify_dictionaries().combine_chunks()
    if isinstance(array, pa.ChunkedArray):  # no row at all
        array = pa.concat_arrays(array.chunks) if array.num_chunks else pa.array([], pa.string())
    if not pa.types.is_dictionary(array.type):
        array = pc.dictionary_encode(pc.cast(array, pa.string()))
    texts = pc.utf8_trim_whitespace(pc.cast(array.dictionary, pa.string()))
    indices = array.indices
    if indices.null_count:
        texts = pa.concat_arrays([texts, pa.array([""], pa.string())])
        indices = pc.fill_null(indices, len(texts) - 1)
    codes = indices.to_numpy(zero_copy_only=False).astype(smallest(len(texts)), copy=False)
    return TextColumn(codes, texts if len(texts) else pa.array([""], pa.string()))


def _ascending(array: pa.ChunkedArray) -> pa.DictionaryArray | None:
    """Return the blocks of a column put together where each holds later texts than the one before.

    Times in order do, by the million: no text need be looked up. None where they don't.
    """
    if array.num_chunks < 2 or not pa.types.is_dictionary(array.type) or array.null_count:
        return None
    blocks = [block for block in array.chunks if len(block)]
    texts = [block.dictionary for block in blocks]
    if sum(map(len, texts)) < _MANY:
        return None
    ends = [pc.min_max(text).as_py() for text in texts]
    if any(a["max"] > b["min"] for a, b in zip(ends[:-1], ends[1:], strict=True)):
        return None
    codes, parts, size, last = [], [], 0, 0
    for number, block in enumerate(blocks):
        text = texts[number]
        code = block.indices.to_numpy(zero_copy_only=False) + np.int32(size)
        if number and ends[number]["min"] == ends[number - 1]["max"]:  # rows of one time, cut apart
            if text[0].as_py() != ends[number]["min"]:
                return None
            code = np.where(code == size, np.int32(last), code - np.int32(1))
            text = text[1:]
        if len(text):
            last = size + pc.index(text, ends[number]["max"]).as_py()
        size += len(text)
        codes.append(code)
        parts.append(text)
    return pa.DictionaryArray.from_arrays(np.concatenate(codes), pa.concat_arrays(parts))


def smallest(count: int) -> type[np.signedinteger]:
    """Return the smallest kind of number that tells so many texts apart."""
    return np.int8 if count < 1 << 7 else np.int16 if count < 1 << 15 else np.int32


def stack(columns: list[TextColumn]) -> TextColumn:
    """Return columns put one under the other, shape (sum of n,)."""
    codes, texts, offset = [], [], 0
    for column in columns:
        codes.append(column.codes.astype(np.int32) + np.int32(offset))
        texts.append(column.texts)
        offset += len(column.texts)
    return TextColumn(np.concatenate(codes).astype(np.int32), pa.concat_arrays(texts))


def join(first: TextColumn, second: TextColumn) -> TextColumn:
    """Return two columns as one, with a space between (a date and a time of day)."""
    pairs = first.codes.astype(np.int64) * len(second.texts) + second.codes
    distinct, codes = np.unique(pairs, return_inverse=True)
    left = first.texts.take(pa.array(distinct // len(second.texts)))
    right = second.texts.take(pa.array(distinct % len(second.texts)))
    texts = pc.utf8_trim_whitespace(pc.binary_join_element_wise(left, right, " "))
    return TextColumn(codes.astype(np.int32), texts)


@dataclass(frozen=True)
class Refusal:
    """Rows or cells of one file that were refused for one reason.

    Attributes
    ----------
    rows : array of int64, shape (k,)
        Line numbers; the header is line 1.
    column : str or array of str, shape (k,)
        Column as named in the file; blank when the whole row is meant.
    texts : array of str, shape (k,)
    reason : str
    whole_row : bool
        The row was refused, not only the cell.
    """

    rows: np.ndarray
    column: str | np.ndarray
    texts: np.ndarray
    reason: str
    whole_row: bool


@dataclass(frozen=True)
class Sheet:
    """One file, read but not yet understood.

    Attributes
    ----------
    file : str
        Path relative to the log folder, with forward slashes.
    header : list of str
        Column names as written, trimmed.
    columns : list of TextColumn
        One a header cell.
    lines : array of int64, shape (n,)
        Line number of each row; the header is line 1.
    refused : list of Refusal
        Rows whose cells don't fit the header.
    units : dict
        Column number -> text of the units row, when the file has one.
    encoding, delimiter, sha256 : str
    size : int
        Bytes on disk.
    point : str
        The one point that the lines above the header name, blank when they name none.
    """

    file: str
    header: list[str]
    columns: list[TextColumn]
    lines: np.ndarray
    refused: list[Refusal] = field(default_factory=list)
    units: dict[int, str] = field(default_factory=dict)
    encoding: str = ""
    delimiter: str = ""
    sha256: str = ""
    size: int = 0
    point: str = ""
