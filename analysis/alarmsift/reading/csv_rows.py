"""From CSV text to columns: at full speed when the file is regular, line by line where it isn't.

The fast way hands the bytes to pyarrow, on all cores. It is trusted only when it finds exactly one
row a line. Otherwise every line is looked at: regular lines go on in bulk, and only the odd ones
(quotes, wrong number of cells, blank) are taken apart one by one, so that line numbers stay true.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.csv as pacsv

from alarmsift.reading.sheet import Refusal, TextColumn, encode

_MOST_LINES_A_ROW = 20  # a quoted note may span lines; more than this is a stray quote mark
_USUAL_SHORT = 0.1  # share of rows of one short width from which an exporter drops blank tails
# Bytes that pyarrow takes at a time, and so the longest line on the fast way. Larger blocks need
# more memory: to read a gigabyte takes 2.3 GB with this one, and 3.0 GB with one of four times.
_BLOCK = 1 << 20


@dataclass(frozen=True)
class Grammar:
    """How the rows of one file are written.

    Attributes
    ----------
    delimiter : str
    width : int
        Number of header cells.
    first : int
        Lines before the first data row (header included).
    join_last : bool
        The last column is free text: surplus cells belong to it.
    free : frozenset of int
        Columns of free text, whose quoted cells may hold line breaks.
    """

    delimiter: str
    width: int
    first: int
    join_last: bool = False
    free: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Rows:
    """The rows of one file: columns, line numbers (n,), and what didn't fit."""

    columns: list[TextColumn]
    lines: np.ndarray
    refused: list[Refusal]


def read(data: bytes, grammar: Grammar) -> Rows:
    """Return the data rows of UTF-8 text; blank lines are no rows."""
    start = _skip(data, grammar.first)
    if start >= len(data):
        return _rows(b"", np.empty(0, dtype=np.int64), [], grammar)
    expected = data.count(b"\n", start) + (not data.endswith(b"\n"))
    returns = data.count(b"\r", start)
    if not returns or returns == data.count(b"\r\n", start):
        try:
            table = _table(pa.py_buffer(data).slice(start), grammar)
        except pa.ArrowInvalid:
            table = None
        if table is not None and table.num_rows == expected:
            del data  # a large file need not stay beside its columns
            lines = np.arange(expected, dtype=np.int64) + grammar.first + 1
            left = [table.column(name) for name in reversed(table.column_names)]
            del table
            return _without_blank(Rows(_encoded(left), lines, []))
    return _without_blank(_screened(data[start:] if start else data, grammar))


def _skip(data: bytes, lines: int) -> int:
    """Return where the text begins after ``lines`` lines, whatever ends them."""
    position = 0
    for _ in range(lines):
        ends = [data.find(mark, position) for mark in (b"\n", b"\r")]
        ends = [end for end in ends if end >= 0]
        if not ends:
            return len(data)
        end = min(ends)
        position = end + (2 if data[end : end + 2] == b"\r\n" else 1)
    return position


def _table(body: pa.Buffer, grammar: Grammar, block: int = _BLOCK) -> pa.Table:
    names = [str(number) for number in range(grammar.width)]
    kind = pa.dictionary(pa.int32(), pa.string())
    return pacsv.read_csv(
        pa.BufferReader(body),
        read_options=pacsv.ReadOptions(column_names=names, block_size=block),
        parse_options=pacsv.ParseOptions(delimiter=grammar.delimiter, ignore_empty_lines=False),
        convert_options=pacsv.ConvertOptions(
            column_types=dict.fromkeys(names, kind), strings_can_be_null=False
        ),
    )


def _encoded(left: list[pa.ChunkedArray]) -> list[TextColumn]:
    """Return columns, the last first; each is let go of when the next one's turn comes."""
    return [encode(left.pop()) for _ in range(len(left))]


def _arrow(body: bytes, grammar: Grammar) -> list[TextColumn]:
    if not body:
        blank = pa.array([], pa.string())
        return [encode(blank) for _ in range(grammar.width)]
    ends = np.flatnonzero(np.frombuffer(body, dtype=np.uint8) == ord("\n"))
    longest = int(np.diff(ends, prepend=-1, append=len(body)).max())
    table = _table(pa.py_buffer(body), grammar, max(_BLOCK, 2 * longest))
    return _encoded(table.columns[::-1])


def _screened(body: bytes, grammar: Grammar) -> Rows:
    """Return the rows, having looked at every line."""
    if b"\r" in body:
        body = body.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not body.endswith(b"\n"):
        body += b"\n"
    letters = np.frombuffer(body, dtype=np.uint8)
    ends = np.flatnonzero(letters == ord("\n"))
    starts = np.concatenate([[0], ends[:-1] + 1])
    cells = 1 + _count(letters, grammar.delimiter, starts)
    regular = (cells == grammar.width) & (_count(letters, '"', starts) == 0) & (ends > starts)
    work = _Odd(body, starts, ends, grammar, _usual_widths(cells[ends > starts], grammar.width))
    clean, kept = work.run(regular)
    return _rows(clean, kept + grammar.first + 1, work.refusals(), grammar)


def _count(letters: np.ndarray, mark: str, starts: np.ndarray) -> np.ndarray:
    """Return how often a character stands in each line, shape (lines,)."""
    hits: np.ndarray = np.add.reduceat(
        (letters == ord(mark)).view(np.uint8), starts, dtype=np.int64
    )
    return hits


def _usual_widths(cells: np.ndarray, width: int) -> frozenset[int]:
    counts = np.bincount(cells[cells < width], minlength=1)
    return frozenset(np.flatnonzero(counts > max(2.0, _USUAL_SHORT * len(cells))).tolist())


def _rows(clean: bytes, lines: np.ndarray, refused: list[Refusal], grammar: Grammar) -> Rows:
    return Rows(_arrow(clean, grammar), lines, refused)


def _without_blank(rows: Rows) -> Rows:
    """Leave out rows whose cells are all blank (a line of delimiters only)."""
    filled = np.zeros(len(rows.lines), dtype=bool)
    for column in rows.columns:
        filled |= ~column.blank()
        if filled.all():
            return rows
    keep = np.flatnonzero(filled)
    return Rows([c.at(keep) for c in rows.columns], rows.lines[keep], rows.refused)


class _Odd:
    """The lines that need a closer look, one file's worth."""

    def __init__(
        self,
        body: bytes,
        starts: np.ndarray,
        ends: np.ndarray,
        grammar: Grammar,
        usual: frozenset[int],
    ) -> None:
        self.body, self.starts, self.ends = body, starts, ends
        self.grammar, self.usual = grammar, usual
        self.bad: dict[str, list[tuple[int, str]]] = {}

    def run(self, regular: np.ndarray) -> tuple[bytes, np.ndarray]:
        """Return clean text with one row a line, and the line index of each row."""
        pieces: list[bytes] = []
        kept: list[np.ndarray] = []
        done = 0
        for line in np.flatnonzero(~regular).tolist():
            if line < done:
                continue
            if line > done:
                pieces.append(self.body[self.starts[done] : self.ends[line - 1] + 1])
                kept.append(np.arange(done, line))
            done, row = self._row(line)
            if row is not None:
                pieces.append(row)
                kept.append(np.array([line]))
        last = len(self.starts)
        if last > done:
            pieces.append(self.body[self.starts[done] : self.ends[last - 1] + 1])
            kept.append(np.arange(done, last))
        lines = np.concatenate(kept) if kept else np.empty(0, dtype=np.int64)
        return b"".join(pieces), lines.astype(np.int64)

    def refusals(self) -> list[Refusal]:
        """Return what was refused, one entry a reason."""
        return [
            Refusal(
                np.array([n for n, _ in found], dtype=np.int64) + self.grammar.first + 1,
                "",
                np.array([text for _, text in found], dtype=object),
                reason,
                whole_row=True,
            )
            for reason, found in self.bad.items()
        ]

    def _text(self, first: int, last: int) -> str:
        return self.body[self.starts[first] : self.ends[last]].decode("utf-8", "replace")

    def _row(self, line: int) -> tuple[int, bytes | None]:
        """Return the next line to look at, and this row rewritten (None = no row)."""
        text = self._text(line, line)
        if not text.strip():
            return line + 1, None
        last = line
        if text.count('"') % 2:
            last = self._closing(line)
        stray = bool(text.count('"') % 2) and last == line
        cells = self._split(self._text(line, last), literal=stray)
        cells, reason = self._fit(cells)
        if reason:
            self.bad.setdefault(reason, []).append((line, text[:200]))
            return last + 1, None
        flat = [" ".join(cell.split("\n")).replace("\x00", "\ufffd") for cell in cells]
        out = io.StringIO()
        csv.writer(out, delimiter=self.grammar.delimiter, lineterminator="\n").writerow(flat)
        return last + 1, out.getvalue().encode("utf-8")

    def _closing(self, line: int) -> int:
        """Return the line on which a quote left open is closed so that the row fits, else this."""
        stop = min(line + _MOST_LINES_A_ROW, len(self.starts) - 1)
        marks = self._text(line, line).count('"')
        for last in range(line + 1, stop + 1):
            marks += self._text(last, last).count('"')
            if marks % 2 == 0 and self._spans(self._text(line, last)):
                return last
        return line

    def _spans(self, text: str) -> bool:
        """Tell whether several lines are one whole row, its line breaks in free text only.

        Two stray quote marks would otherwise swallow the rows between them without a word.
        """
        source = io.StringIO(text, newline="")
        try:
            rows = list(csv.reader(source, delimiter=self.grammar.delimiter, strict=True))
        except csv.Error:
            return False
        cells = rows[0] if len(rows) == 1 else []
        broken = {number for number, cell in enumerate(cells) if "\n" in cell}
        return len(cells) == self.grammar.width and broken <= self.grammar.free

    def _split(self, text: str, *, literal: bool = False) -> list[str]:
        if literal:
            return text.split(self.grammar.delimiter)
        source = io.StringIO(text, newline="")
        try:
            return next(csv.reader(source, delimiter=self.grammar.delimiter), [])
        except csv.Error:  # a cell longer than the reader takes
            return text.split(self.grammar.delimiter)

    def _fit(self, cells: list[str]) -> tuple[list[str], str]:
        """Return the cells in the header's width, or why they don't fit."""
        width = self.grammar.width
        if len(cells) > width:
            if not any(cell.strip() for cell in cells[width:]):
                return cells[:width], ""
            if self.grammar.join_last:
                tail = self.grammar.delimiter.join(cells[width - 1 :])
                return [*cells[: width - 1], tail], ""
        elif len(cells) in self.usual:
            return cells + [""] * (width - len(cells)), ""
        if len(cells) == width:
            return cells, ""
        return cells, f"{len(cells)} cell{'s' * (len(cells) != 1)} where the header has {width}"
