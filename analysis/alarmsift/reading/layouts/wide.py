"""A historian's export: one row a moment, one column a point and gas.

The tag of a column holds the point's name and the gas, with whatever between: ``BT1P.HC``,
``H2S_BT 1 P``, ``GDS:BT1P:HC:PV [%LEL]``. Words that all tags share at the end (PV, VALUE) are
taken off. A tag may name flow or suction instead of a gas; those go beside the point's readings. A
tag of an alarm (``BT1P.HC.High``) is no reading.
"""

from __future__ import annotations

import numpy as np

from alarmsift.reading.alarm_words import alarm_of_tag
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.melt import melt
from alarmsift.reading.sheet import Sheet, TextColumn, constant, stack
from alarmsift.reading.tags import Tag, read_tag
from alarmsift.reading.time_columns import time_column


def _tags(names: list[Name]) -> list[Tag]:
    some = [i for i, name in enumerate(names) if not name.plain and not name.gas]
    found = [read_tag(i, names[i].core) for i in some if alarm_of_tag(names[i].core) is None]
    tags = [tag for tag in found if tag is not None]
    points = {tag.point for tag in tags if tag.gas and not tag.beside}
    tags = [tag for tag in tags if tag.point in points]
    start = _shared_start(sorted(points))
    return [Tag(t.number, t.point[start:], t.gas, t.beside) for t in tags]


def _shared_start(points: list[str]) -> int:
    """Return how many letters of all points' names are the path of one system ('GDS:')."""
    if len(points) < 2:
        return 0
    first, last = points[0], points[-1]
    pairs = zip(first, last, strict=False)
    same = next((i for i, (a, b) in enumerate(pairs) if a != b), min(len(first), len(last)))
    cut = max(first.rfind(mark, 0, same) for mark in ":\\") + 1
    return cut if all(len(point) > cut for point in points) else 0


def table_of(names: list[Name]) -> str:
    """Return readings when there are a time and at least one tag of a point and a gas."""
    timed = any(name.plain in ("time", "date") for name in names)
    pointed = any(name.plain == "point" for name in names)
    return "readings" if timed and not pointed and any(t.gas for t in _tags(names)) else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one draft row for each cell that is not blank."""
    tags = _tags(names)
    gases = [tag for tag in tags if tag.gas and not tag.beside]
    found = pick(names, {"time", "date"})
    time = time_column(sheet, found) if len(sheet.lines) else constant("", 0)
    melted = melt([sheet.columns[tag.number] for tag in gases])
    units = [unit_of(sheet, tag.number, names[tag.number]) for tag in gases]
    columns = {
        "time": time.at(melted.rows),
        "point": melted.named([tag.point for tag in gases]),
        "gas": melted.named([tag.gas for tag in gases]),
        "value": melted.cells,
        "unit": melted.named(units),
    }
    written = {plain: names[number].written for plain, number in found.items()}
    beside_units: dict[str, str] = {}
    for plain in dict.fromkeys(tag.beside for tag in tags if tag.beside):
        some = {(tag.point, tag.gas): tag.number for tag in tags if tag.beside == plain}
        columns[plain] = _beside(sheet, gases, some, (melted.rows, melted.which))
        number = next(iter(some.values()))
        written[plain] = names[number].written
        beside_units[plain] = unit_of(sheet, number, names[number])
    used = {tag.number for tag in tags} | set(found.values())
    return Draft(
        sheet=sheet,
        table=table,
        layout="wide",
        columns=columns,
        rows=melted.rows,
        written=written,
        units=beside_units,
        value_names=melted.named([names[tag.number].written for tag in gases]),
        left_out=left_out(names, used),
    )


def _beside(
    sheet: Sheet,
    gases: list[Tag],
    some: dict[tuple[str, str], int],
    where: tuple[np.ndarray, np.ndarray],
) -> TextColumn:
    """Return the flow (or suction, ...) of the point and moment of each draft row."""
    rows, which = where
    pieces, at = [constant("", 1)], np.zeros(len(rows), dtype=np.int64)
    offset = 1
    for (point, gas), number in sorted(some.items(), key=lambda item: item[0][1]):
        mine = [i for i, tag in enumerate(gases) if tag.point == point and gas in ("", tag.gas)]
        here = np.isin(which, mine)
        at[here] = offset + rows[here]
        pieces.append(sheet.columns[number])
        offset += len(sheet.lines)
    return stack(pieces).at(at)


LAYOUT = Layout("wide", table_of, draft)
