"""From a file on disk to a draft of one plain table."""

from __future__ import annotations

import csv
import dataclasses
import re
from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from alarmsift.reading import csv_rows, times
from alarmsift.reading.disk import PARQUET_ENDING, SHEET_ENDINGS, Found, Unusable, load
from alarmsift.reading.draft import Draft, Layout
from alarmsift.reading.encodings import to_utf8
from alarmsift.reading.header import Name, understand
from alarmsift.reading.layouts import alarms, episodes, merged, plain, remarks, switches, tags, wide
from alarmsift.reading.pasted import with_dates, without_headers
from alarmsift.reading.sheet import Sheet
from alarmsift.reading.spreadsheet import worksheets
from alarmsift.reading.units import is_unit
from alarmsift.reading.words import key
from alarmsift.tables.site import Site

# In the order to ask; a new shape of file is a new file in layouts/ and an entry here.
LAYOUTS: tuple[Layout, ...] = (
    plain.LAYOUT,
    merged.LAYOUT,
    episodes.LAYOUT,
    switches.LAYOUT,
    wide.LAYOUT,
    tags.LAYOUT,
    alarms.LAYOUT,
    remarks.LAYOUT,
)

_DELIMITERS = (",", ";", "\t", "|")
_HEADER_LINES = 60  # a preamble may stand above the header
_LONGEST_SNIFFED = 2000  # letters; the dialect library takes minutes over longer lines
_LONGEST_HEADER = 200_000  # letters; a historian's thousand tags take a quarter of it
# A line above the header that names the one point of a file; cells behind it are no part of it.
_POINT = re.compile(
    r"^\W*(?:sampl(?:e|ing) )?(?:point|location|tag)(?: name)?\s*[:=;,\t]+\s*([^;,\t\r\n]+)",
    re.IGNORECASE | re.MULTILINE,
)
_HEAD = 1 << 18  # bytes in which the header is looked for


@dataclass(frozen=True)
class Header:
    """Where the header stands and what it says."""

    line: int  # lines above it
    delimiter: str
    names: list[Name]
    layout: Layout
    table: str


@dataclass
class Part:
    """One table to be opened: a file, or a worksheet of one.

    Attributes
    ----------
    file : str
        As the user is told.
    data : bytes
        Content, unpacked; can be taken once.
    sha256 : str
        Of the file on disk.
    size : int
        Of the file on disk [bytes].
    """

    file: str
    data: bytes
    sha256: str
    size: int

    def take(self) -> bytes:
        """Return the content and keep no hold on it."""
        data, self.data = self.data, b""
        return data


def parts_of(found: Found) -> list[Part]:
    """Return the tables of a file: one, or as many as a spreadsheet has sheets.

    Raises
    ------
    Unusable
        When the file can't be opened.
    """
    data, digest, size = load(found.path)
    if not found.path.name.lower().endswith(SHEET_ENDINGS):
        return [Part(found.file, data, digest, size)]
    sheets = worksheets(data)
    if not sheets:
        raise Unusable("is empty")
    return [Part(f"{found.file} [{name}]", text, digest, size) for name, text in sheets]


def open_table(part: Part, site: Site) -> Draft:
    """Return a table's rows under plain names.

    Raises
    ------
    Unusable
        When it holds no table that is understood.
    """
    mapped = {key(written): target for written, target in site.columns.items()}
    if part.file.lower().endswith(PARQUET_ENDING):
        return _parquet(part, mapped)
    text, encoding = to_utf8(part.take())
    text = _unwrapped(text)
    header = find_header(text, mapped)
    lines = text[:_HEAD].decode("utf-8", "replace").splitlines(keepends=True)
    only = [text]
    del text
    sheet = _sheet(only, header, part.file)
    sheet = dataclasses.replace(sheet, encoding=encoding, sha256=part.sha256, size=part.size)
    sheet = _without_units_row(sheet, header.names)
    named = _POINT.search("".join(lines[: header.line]))
    sheet = dataclasses.replace(sheet, point=named[1].strip() if named else "")
    sheet, pieces, again = without_headers(sheet, header.names, "".join(lines[: header.line]))
    sheet, names, dated = with_dates(sheet, header.names, pieces)
    draft = header.layout.draft(sheet, names, header.table)
    said = (*draft.said, *(words for words in (again, dated) if words))
    return dataclasses.replace(draft, said=said)


def _unwrapped(text: bytes) -> bytes:
    """Return text whose every line was put in quotes as if it were one cell, without them."""
    if not text.startswith(b'"'):
        return text
    lines = text[:_HEAD].splitlines()[:_HEADER_LINES]
    if not all(re.fullmatch(rb'"(?:[^"]|"")*"', line) for line in lines if line.strip()):
        return text
    inner = re.sub(rb'(?m)^"((?:[^"\r\n]|"")*)"(\r?)$', rb"\1\2", text)
    return inner.replace(b'""', b'"')


def _parquet(part: Part, mapped: dict[str, str]) -> Draft:
    # Only folders with parquet files need its reader.
    from alarmsift.reading.parquet_rows import read_parquet  # noqa: PLC0415  (slow, seldom needed)

    sheet = read_parquet(part.data, part.file)
    names = [understand(cell, mapped) for cell in sheet.header]
    layout, table = _layout(names)
    if layout is None:
        raise Unusable(_unknown(sheet.header))
    sheet = dataclasses.replace(sheet, sha256=part.sha256, size=part.size)
    return layout.draft(sheet, names, table)


def _layout(names: list[Name]) -> tuple[Layout | None, str]:
    for layout in LAYOUTS:
        table = layout.table_of(names)
        if table:
            return layout, table
    return None, ""


def find_header(text: bytes, mapped: dict[str, str]) -> Header:
    """Return the header of a text file, wherever it stands and whatever the delimiter."""
    lines = text[:_HEAD].decode("utf-8", "replace").splitlines()[:_HEADER_LINES]
    best = _search(lines, mapped, _DELIMITERS)
    if best is None:
        short = [line for line in lines if len(line) < _LONGEST_SNIFFED]
        best = _search(lines, mapped, _second_opinion("\n".join(short)))
    if best is None:
        best = _two_lines(lines, mapped)
    if best is None:
        raise Unusable(_unknown(_widest(lines)))
    return best


def _two_lines(lines: list[str], mapped: dict[str, str]) -> Header | None:
    """Return a wide header that stands in two lines: points above, gases below."""
    for delimiter in _DELIMITERS:
        for number, (upper, lower) in enumerate(zip(lines, lines[1:], strict=False)):
            if max(len(upper), len(lower)) > _LONGEST_HEADER:
                continue
            above, below = _cells(upper, delimiter), _cells(lower, delimiter)
            if len(above) < 3 or len(above) != len(below):
                continue
            cells, point = [], ""
            for one, two in zip(above, below, strict=True):
                point = one.strip() or (point if two.strip() else "")
                cells.append(f"{point} {two.strip()}".strip())
            names = [understand(cell, mapped) for cell in cells]
            table = wide.LAYOUT.table_of(names)
            if table and sum(not name.plain for name in names) > len(names) // 2:
                return Header(number + 1, delimiter, names, wide.LAYOUT, table)
    return None


def _search(lines: list[str], mapped: dict[str, str], delimiters: tuple[str, ...]) -> Header | None:
    best: tuple[int, int, Header] | None = None
    for delimiter in delimiters:
        for number, line in enumerate(lines):
            if delimiter not in line or len(line) > _LONGEST_HEADER:
                continue
            cells = _cells(line, delimiter)
            names = [understand(cell, mapped) for cell in cells]
            layout, table = _layout(names)
            if layout is None:
                continue
            rank = -LAYOUTS.index(layout)
            score = sum(bool(name.plain or name.gas) for name in names)
            if best is None or (rank, score) > best[:2]:
                best = (rank, score, Header(number, delimiter, names, layout, table))
            break
    return None if best is None else best[2]


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:
        return line.split(delimiter)


def _second_opinion(text: str) -> tuple[str, ...]:
    """Return what the dialect library takes for the delimiter, when it is an unusual one."""
    # Slow to import; only files without any usual delimiter get here.
    import clevercsv  # noqa: PLC0415  (slow, seldom needed)

    try:
        found = clevercsv.Sniffer().sniff(text[:20_000])
    except Exception:  # noqa: BLE001  (whatever it stumbles on, there is no second opinion)
        return ()
    mark = "" if found is None else str(found.delimiter)
    return (mark,) if len(mark) == 1 and mark not in _DELIMITERS and mark.isprintable() else ()


def _widest(lines: list[str]) -> list[str]:
    rows = [_cells(line, mark) for mark in _DELIMITERS for line in lines[:10]]
    return max(rows, key=len, default=[])


def _unknown(cells: list[str]) -> str:
    shown = ", ".join(f"'{cell.strip()[:30]}'" for cell in cells[:8] if cell.strip())
    more = ", ..." if len(cells) > 8 else ""
    return (
        "has no header that is understood"
        + (f" (found: {shown}{more})" if shown else "")
        + "; readings need time, point, gas and value, or a column a gas; [columns] in site.toml "
        "says which column is which"
    )


def _sheet(only: list[bytes], header: Header, file: str) -> Sheet:
    """Return the rows; the text is taken out of its list, so that it can go when it is read."""
    grammar = csv_rows.Grammar(
        delimiter=header.delimiter,
        width=len(header.names),
        first=header.line + 1,
        join_last=header.names[-1].plain in ("text", "note"),
        free=frozenset(i for i, n in enumerate(header.names) if n.plain in ("", "text", "note")),
    )
    rows = csv_rows.read(only.pop(), grammar)
    return Sheet(
        file=file,
        header=[name.written for name in header.names],
        columns=rows.columns,
        lines=rows.lines,
        refused=rows.refused,
        delimiter=header.delimiter,
    )


def _without_units_row(sheet: Sheet, names: list[Name]) -> Sheet:
    """Take a row of units off the top of the rows, where there is one."""
    if not len(sheet.lines):
        return sheet
    cells = [str(column.text(np.array([0]))[0]) for column in sheet.columns]
    units = {i: cell for i, cell in enumerate(cells) if is_unit(cell)}
    timed = {i for i, name in enumerate(names) if name.plain in ("time", "date")}
    others = [cell for i, cell in enumerate(cells) if cell and i not in units and i not in timed]
    stamps = pa.array([cells[i] for i in timed], pa.string())
    if not units or others or not times.parse(stamps).bad.all():
        return sheet
    rest = np.arange(1, len(sheet.lines))
    columns = [column.at(rest) for column in sheet.columns]
    return dataclasses.replace(sheet, columns=columns, lines=sheet.lines[rest], units=units)
