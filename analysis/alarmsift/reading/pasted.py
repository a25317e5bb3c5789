"""Daily exports pasted together: the header comes again, its columns perhaps in other places.

Such a header is no row, nor are the lines above it (installation, date of printing) that stood
above the first header too. Where a printout bears its date above the header only, the rows below
get it from there.
"""

from __future__ import annotations

import dataclasses
import re
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading.alarm_cells import column_of, words_of
from alarmsift.reading.header import Name
from alarmsift.reading.sheet import Refusal, Sheet, TextColumn, flags, stack
from alarmsift.reading.time_columns import clocks_only
from alarmsift.reading.times import NEXT_DAY
from alarmsift.reading.units import is_unit

_DATE = re.compile(
    r"(?<!\d)(\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\d{1,2}[-/.]\d{4}|"
    r"\d{1,2}[ -](?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?[ -]\d{4})(?!\d)",
    re.IGNORECASE,
)
_DAY = re.compile(r"(?<!\d)(20\d{2})[-_.]?(\d{2})[-_.]?(\d{2})(?!\d)")
_PRINTED = re.compile(r"print|export|created|generated|report(?:ed)? on|saved", re.IGNORECASE)
_HALF_DAY = 12 * 60  # [min]
_HEAD_LETTERS = 1000  # of a line; its likeness shows in them


@dataclass(frozen=True)
class Pieces:
    """A file's exports, one after the other.

    Attributes
    ----------
    starts : array of int64, shape (p,)
        First row of the sheet of each piece.
    above : list of str
        The lines above each piece's header.
    """

    starts: np.ndarray
    above: list[str]


def without_headers(sheet: Sheet, names: list[Name], above: str) -> tuple[Sheet, Pieces, str]:
    """Return the sheet without repeated headers, where its pieces start, and what was found.

    Parameters
    ----------
    sheet : Sheet
        With its units row already taken off.
    names : list of Name
    above : str
        The lines above the first header.
    """
    first = Pieces(np.zeros(1, dtype=np.int64), [above])
    at = _header_rows(sheet)
    if not len(at):
        return sheet, first, ""
    known = {_signature(line) for line in above.splitlines()} - {""}
    spare = len(above.splitlines())
    gone, tops = _lines_above(sheet, at, known, spare)
    units = [row for row in at + 1 if row < len(sheet.lines) and _is_units(sheet, int(row))]
    drop = np.zeros(len(sheet.lines), dtype=bool)
    drop[at] = True
    drop[gone] = True
    drop[units] = True
    columns = _in_place(sheet, at)
    keep = np.flatnonzero(~drop)
    refused, texts = _unrefuse(sheet, at, known, spare)
    starts = np.concatenate([[0], np.searchsorted(keep, at)])
    pieces = Pieces(starts, [above, *(f"{a}\n{b}" for a, b in zip(tops, texts, strict=True))])
    whole = dataclasses.replace(
        sheet,
        columns=[column.at(keep) for column in columns],
        lines=sheet.lines[keep],
        refused=refused,
    )
    moved = " (with its columns in other places)" if columns is not sheet.columns else ""
    return whole, pieces, f"the header comes {len(at)} times more{moved}; it is no row"


def _header_rows(sheet: Sheet) -> np.ndarray:
    """Return the rows whose cells are the header's own, in any order."""
    written = [cell for cell in sheet.header if cell]
    known = pa.array([*written, ""], pa.string())
    hit = np.ones(len(sheet.lines), dtype=bool)
    for column in sheet.columns:
        hit &= flags(pc.is_in(column.texts, known))[column.codes]
        if not hit.any():
            return np.flatnonzero(hit)
    rows = np.flatnonzero(hit)
    cells = [column.text(rows) for column in sheet.columns]
    same = [sorted(c for c in row if c) == sorted(written) for row in zip(*cells, strict=True)]
    return rows[np.array(same, dtype=bool)]


def _is_units(sheet: Sheet, row: int) -> bool:
    cells = [str(column.text(np.array([row]))[0]) for column in sheet.columns]
    return any(cells) and all(is_unit(cell) for cell in cells if cell)


def _in_place(sheet: Sheet, at: np.ndarray) -> list[TextColumn]:
    """Return the columns, each piece's cells under the name that its own header gives them."""
    size = len(sheet.lines)
    bounds = [0, *at.tolist(), size]
    orders = [list(range(len(sheet.columns)))]
    for row in at.tolist():
        cells = [str(column.text(np.array([row]))[0]) for column in sheet.columns]
        left = list(range(len(cells)))
        order = []
        for name in sheet.header:
            found = next((i for i in left if cells[i] == name), left[0])
            left.remove(found)
            order.append(found)
        orders.append(order)
    if all(order == orders[0] for order in orders):
        return sheet.columns
    out = []
    for number in range(len(sheet.columns)):
        parts = [
            sheet.columns[order[number]].at(np.arange(low, high))
            for order, low, high in zip(orders, bounds[:-1], bounds[1:], strict=True)
        ]
        out.append(stack(parts))
    return out


def _signature(line: str) -> str:
    """Return what the same line above another day's header shares with it: its first word.

    Of a line without a word in front, the whole with its digits made equal.
    """
    plain = re.sub(r"[^\w]+", " ", line[:_HEAD_LETTERS]).strip().lower()
    return re.sub(r"\d", "0", plain) if plain[:1].isdigit() else plain.split(" ")[0]


def _lines_above(
    sheet: Sheet, at: np.ndarray, known: set[str], spare: int
) -> tuple[np.ndarray, list[str]]:
    """Return the rows above repeated headers that are like the lines above the first one."""
    gone: list[int] = []
    tops = []
    for row in at.tolist():
        text: list[str] = []
        before = row - 1
        while before >= 0 and sheet.lines[row] - sheet.lines[before] <= spare:
            cells = [str(column.text(np.array([before]))[0]) for column in sheet.columns]
            if _signature(" ".join(cells)) not in known:
                break
            gone.append(before)
            text.insert(0, " ".join(cell for cell in cells if cell))
            before -= 1
        tops.append("\n".join(text))
    return np.array(gone, dtype=np.int64), tops


def _unrefuse(
    sheet: Sheet, at: np.ndarray, known: set[str], spare: int
) -> tuple[list[Refusal], list[str]]:
    """Return what is still refused when lines above a header are none, and those lines' texts."""
    heads = sheet.lines[at]
    texts = [""] * len(at)
    out = []
    for refusal in sheet.refused:
        left = np.ones(len(refusal.rows), dtype=bool)
        nearest = np.searchsorted(heads, refusal.rows)
        for number, head in enumerate(nearest.tolist()):
            near = head < len(heads) and heads[head] - refusal.rows[number] <= spare
            if near and _signature(str(refusal.texts[number])) in known:
                left[number] = False
                texts[head] += f"\n{refusal.texts[number]}"
        if left.any():
            out.append(
                dataclasses.replace(refusal, rows=refusal.rows[left], texts=refusal.texts[left])
            )
    return out, texts


def with_dates(sheet: Sheet, names: list[Name], pieces: Pieces) -> tuple[Sheet, list[Name], str]:
    """Return the sheet with a column of dates, when its rows hold times of day only.

    The date comes from the lines above each header, else from the file's name. After midnight it
    is the next day's.
    """
    plain = {name.plain for name in names}
    place = next((i for i, name in enumerate(names) if name.plain in ("time", "start")), None)
    if place is None or "date" in plain or not clocks_only(sheet.columns[place]):
        return sheet, names, ""
    named = _DAY.search(sheet.file)
    otherwise = "-".join(named.groups()) if named else ""
    dates = [_date_in(text) or otherwise for text in pieces.above]
    if not all(dates):
        return sheet, names, ""
    above = bool(_date_in(pieces.above[0]))
    source = "the lines above the header" if above else "the name of the file"
    size = len(sheet.lines)
    which = np.searchsorted(pieces.starts, np.arange(size), side="right") - 1
    column = TextColumn(which.astype(np.int32), pa.array(dates, pa.string()))
    clock = sheet.columns[place]
    late = _after_midnight(clock, which)
    if late.any():
        cells = words_of(clock)
        clock = column_of(np.where(late, cells + NEXT_DAY, cells))
    columns = [clock if i == place else one for i, one in enumerate(sheet.columns)]
    return (
        dataclasses.replace(sheet, columns=[*columns, column], header=[*sheet.header, ""]),
        [*names, Name("", "date")],
        f"the date was taken from {source}",
    )


def _date_in(text: str) -> str:
    """Return the date in some lines; one that is not about printing goes first."""
    lines = text.splitlines()
    plain = [line for line in lines if not _PRINTED.search(line)]
    for some in (plain, lines):
        found = {match[0] for line in some for match in _DATE.finditer(line)}
        if len(found) == 1:
            return found.pop()
    return ""


def _after_midnight(clock: TextColumn, which: np.ndarray) -> np.ndarray:
    """Return which rows stand behind midnight in their piece, array of bool, shape (n,)."""
    parts = pc.extract_regex(clock.texts, r"^(?P<h>\d{1,2})[:.](?P<m>\d{2})")
    hour, minute = (
        pc.fill_null(pc.cast(pc.struct_field(parts, name), pa.int32()), -1) for name in "hm"
    )
    minutes = np.asarray(hour) * 60 + np.asarray(minute)
    now = minutes[clock.codes]
    back = np.zeros(len(now), dtype=bool)
    back[1:] = (now[1:] >= 0) & (now[:-1] - now[1:] > _HALF_DAY) & (which[1:] == which[:-1])
    passed = np.cumsum(back)
    start = np.zeros(which.max(initial=0) + 1, dtype=np.int64)
    first = np.concatenate([[True], which[1:] != which[:-1]]) if len(which) else back
    start[which[first]] = passed[first]
    return passed - start[which] == 1
