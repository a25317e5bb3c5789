"""One row a visit: a column a gas, with flow and vacuum beside."""

from __future__ import annotations

import numpy as np

from alarmsift.reading.disk import Unusable
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.layouts import wide
from alarmsift.reading.melt import melt
from alarmsift.reading.sheet import Sheet, TextColumn, constant, stack
from alarmsift.reading.tags import read_tag
from alarmsift.reading.time_columns import time_column
from alarmsift.reading.words import gas_of

_SHARED = {"time", "point", "status", "flow", "suction", "temperature", "humidity", "analyser"}


def table_of(names: list[Name]) -> str:
    """Return readings when there are a time and a column named for a gas.

    Where no column says the point, the lines above the header have to.
    """
    have = {name.plain for name in names}
    timed = bool(have & {"time", "date"})
    other = "point" not in have and wide.table_of(names)  # tags beside a lone gas
    return "readings" if timed and any(n.gas for n in names) and not other else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one draft row for each gas cell that is not blank.

    A visit all of whose gas cells are blank stays as one draft row of each gas, so that its status
    is kept, or its lack of values is said.
    """
    found = pick(names, _SHARED | {"date"})
    gases = [number for number, name in enumerate(names) if name.gas]
    size = len(sheet.lines)
    melted = melt([sheet.columns[number] for number in gases], keep_blank_rows=True)
    rows = melted.rows
    shared = {plain: sheet.columns[n] for plain, n in found.items() if plain in _SHARED}
    shared["time"] = time_column(sheet, found) if size else constant("", 0)
    if "point" not in shared:
        if not sheet.point:
            raise Unusable(
                "names no sampling point; put a column of points there, or the line "
                "'Point: NAME' above its header"
            )
        shared["point"] = constant(sheet.point, size)
    columns = {plain: column.at(rows) for plain, column in shared.items()}
    columns["value"] = melted.cells
    own = _own_statuses(names)
    if own:
        mine = [own.get(names[n].gas) for n in gases]
        where = (rows, melted.which)
        columns["status"] = _status(sheet, mine, where, columns.get("status"))
    columns["gas"] = melted.named([names[n].gas for n in gases])
    columns["unit"] = melted.named([unit_of(sheet, n, names[n]) for n in gases])
    return Draft(
        sheet=sheet,
        table=table,
        layout="merged",
        columns=columns,
        rows=rows,
        written={plain: names[number].written for plain, number in found.items()},
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()},
        exact=frozenset(plain for plain, n in found.items() if names[n].exact),
        value_names=melted.named([names[n].written for n in gases]),
        left_out=left_out(names, set(found.values()) | set(gases) | set(own.values())),
    )


def _own_statuses(names: list[Name]) -> dict[str, int]:
    """Return gas -> number of a column that holds this gas's own status ('HC status')."""
    out: dict[str, int] = {}
    for number, name in enumerate(names):
        tag = read_tag(number, name.core) if not name.plain and not name.gas else None
        if tag is not None and gas_of(tag.point) and tag.beside == "status" and not tag.gas:
            out.setdefault(gas_of(tag.point), number)
    several = [number for number, name in enumerate(names) if name.plain == "status"]
    for number in several if len(several) > 1 else []:  # each behind its gas
        before = next((n.gas for n in reversed(names[:number]) if n.gas), "")
        if before:
            out.setdefault(before, number)
    return out


def _status(
    sheet: Sheet,
    own: list[int | None],
    where: tuple[np.ndarray, np.ndarray],
    shared: TextColumn | None,
) -> TextColumn:
    """Return each draft row's status: its gas's own where there is one, else the visit's."""
    rows, which = where
    size = len(sheet.lines)
    pieces = [shared if shared is not None else constant("", len(rows))]
    at = np.arange(len(rows), dtype=np.int64)
    offset = len(rows)
    for gas, number in enumerate(own):
        if number is not None:
            here = (which == gas) & ~sheet.columns[number].blank()[rows]
            at[here] = offset + rows[here]
            pieces.append(sheet.columns[number])
            offset += size
    return stack(pieces).at(at)


LAYOUT = Layout("merged", table_of, draft)
