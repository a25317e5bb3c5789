"""A historian's export with one value a row: time, tag, value; the tag holds point and gas.

Rows of a tag of flow, suction, temperature or humidity go beside the gas readings of the same point
and time; a tag that names neither gas nor any of these is refused by its name.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
import pyarrow as pa

from alarmsift.reading.alarm_words import alarm_of_tag
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name, understand
from alarmsift.reading.sheet import Sheet, TextColumn, constant, stack
from alarmsift.reading.tags import Tag, read_tag
from alarmsift.reading.time_columns import time_column
from alarmsift.reading.units import is_unit

_CELLS = ("point", "value", "unit", "status", "analyser")
_BESIDE = ("flow", "suction", "temperature", "humidity")


def table_of(names: list[Name]) -> str:
    """Return readings when there are a time, a tag and a value, and no gas."""
    have = {name.plain for name in names}
    timed = have & {"time", "date"}
    other = have & {"gas", "event", "state", "action", "level"} or any(n.gas for n in names)
    return "readings" if timed and {"point", "value"} <= have and not other else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one reading for each row whose tag names a gas."""
    found = pick(names, {"time", "date", *_CELLS})
    cells = {name: sheet.columns[found[name]] for name in _CELLS if name in found}
    time = time_column(sheet, found) if len(sheet.lines) else constant("", 0)
    tag = cells.pop("point")
    texts = tag.texts.to_pylist()
    tags = [_tag(number, text) for number, text in enumerate(texts)]
    beside = np.array([t.beside if t.beside in _BESIDE else "" for t in tags], dtype=object)
    rows = np.flatnonzero((beside == "")[tag.codes])
    point = TextColumn(tag.codes, pa.array([t.point for t in tags], pa.string()))
    gas = TextColumn(tag.codes, pa.array([t.gas or text for t, text in zip(tags, texts, strict=True)
                                          ], pa.string()))  # fmt: skip
    columns = {name: column.at(rows) for name, column in cells.items()}
    columns |= {"time": time.at(rows), "point": point.at(rows), "gas": gas.at(rows)}
    if "unit" not in columns and any(understand(t, {}).unit for t in texts):
        units = pa.array([understand(text, {}).unit for text in texts], pa.string())
        columns["unit"] = TextColumn(tag.codes, units).at(rows)
    own: dict[str, str] = {}
    for name in sorted(set(beside.tolist()) - {""}):
        some = np.flatnonzero((beside == name)[tag.codes])
        columns[name] = _beside((time, point), cells["value"], rows, some)
        if "unit" in cells and len(some):
            unit = str(cells["unit"].text(some[:1])[0])
            own |= {name: unit} if is_unit(unit) else {}
    return Draft(
        sheet=sheet,
        table=table,
        layout="tags",
        columns=columns,
        rows=rows,
        written={plain: names[number].written for plain, number in found.items()},
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()} | own,
        left_out=left_out(names, set(found.values())),
    )


def _tag(number: int, text: str) -> Tag:
    core = understand(text, {}).core or text
    found = read_tag(number, core) if alarm_of_tag(core) is None else None
    return found or Tag(number, text, "", "")


def _beside(
    key: tuple[TextColumn, TextColumn], value: TextColumn, rows: np.ndarray, some: np.ndarray
) -> TextColumn:
    """Return, for each gas row, the value that stands at the same time and point, else blank."""
    time, point = key
    names = pd.factorize(np.asarray(point.texts.to_pylist(), dtype=object))[0]
    number = time.codes.astype(np.int64) * (len(names) + 1) + names[point.codes]
    there = pd.Series(some, index=number[some])
    there = there[~there.index.duplicated()]
    at = there.reindex(number[rows]).fillna(-1).to_numpy(dtype=np.int64)
    return stack([constant("", 1), value]).at(at + 1)


LAYOUT = Layout("tags", table_of, draft)
