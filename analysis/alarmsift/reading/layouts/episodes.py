"""One row an alarm: when it was raised, when it was cleared, perhaps when it was acknowledged."""

from __future__ import annotations

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading.alarm_cells import column_of, complete, nothing, words_of
from alarmsift.reading.draft import Draft, Layout, left_out, pick, unit_of
from alarmsift.reading.header import Name
from alarmsift.reading.layouts.alarms import CELLS
from alarmsift.reading.sheet import Sheet, TextColumn, constant, flags, stack
from alarmsift.reading.time_columns import dated
from alarmsift.reading.times import NEXT_DAY

_MOMENTS = (("start", "raised"), ("ack", "acknowledged"), ("end", "cleared"))
_CLOCK_ONLY = r"^\d{1,2}[:.]\d{2}(?:[:.]\d{2})?$"


def table_of(names: list[Name]) -> str:
    """Return events when there are a start (or a time) and an end of something."""
    have = {name.plain for name in names}
    about = {"point", "text"} & have
    begun = have & {"start", "time", "date"}
    return "events" if begun and "end" in have and about and "action" not in have else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return up to three events a row: raised, acknowledged, cleared."""
    found = pick(names, {"time", "date", "start", "end", "ack", *CELLS})
    if "start" not in found and "time" in found:
        found["start"] = found.pop("time")
    size = len(sheet.lines)
    raw = {n: sheet.columns[found[n]] for n in CELLS if n in found and n not in ("state", "status")}
    cells = complete(raw, size)
    times = _times(sheet, found)
    there = {name: np.flatnonzero(~nothing(times[name])) for name, _ in _MOMENTS if name in times}
    gone = np.setdiff1d(np.arange(size), np.concatenate(list(there.values())))
    there["start"] = np.sort(np.concatenate([there["start"], gone]))  # refused: no time
    rows = np.concatenate(list(there.values()))
    order = np.argsort(rows, kind="stable")
    columns = {name: column.at(rows[order]) for name, column in cells.columns.items()}
    columns["time"] = stack([times[n].at(at) for n, at in there.items()]).at(order)
    states = [constant(dict(_MOMENTS)[name], len(at)) for name, at in there.items()]
    columns["state"] = stack(states).at(order)
    if "value" in columns:
        first = np.isin(
            np.flatnonzero(np.ones(len(rows))), np.flatnonzero(order < len(there["start"]))
        )
        columns["value"] = column_of(np.where(first, words_of(columns["value"]), ""))
    written = {plain: names[number].written for plain, number in found.items()}
    return Draft(
        sheet=sheet,
        table=table,
        layout="episodes",
        columns=columns,
        rows=rows[order],
        written={"time": written.get("start", written.get("date", "time"))} | written,
        units={plain: unit_of(sheet, n, names[n]) for plain, n in found.items()},
        left_out=left_out(names, set(found.values())),
        found_in=None if cells.found_in is None else cells.found_in.at(rows[order]),
        said=tuple(s for s in cells.said if "taken as raised" not in s),
    )


def _times(sheet: Sheet, found: dict[str, int]) -> dict[str, TextColumn]:
    """Return the moments of each row; a time of day gets the row's date, or the day after it."""
    own = {name: sheet.columns[found[name]] for name, _ in _MOMENTS if name in found}
    if "date" not in found:
        return own
    date = sheet.columns[found["date"]]
    if "start" not in own:
        return own | {"start": date}
    start = own["start"]
    bare = {name: _clock(column) for name, column in own.items()}
    out = {}
    for name, column in own.items():
        late = (bare[name] != "") & (bare["start"] != "") & (bare[name] < bare["start"])
        both = dated(date, column)
        texts = np.where(bare[name] != "", words_of(both), words_of(column))
        texts = np.where(late, texts.astype(object) + NEXT_DAY, texts)
        out[name] = column_of(np.where(nothing(column), "", texts))
    out["start"] = column_of(np.where(nothing(start), "", words_of(out["start"])))
    return out


def _clock(column: TextColumn) -> np.ndarray:
    """Return times of day in a form that can be compared, blank where a cell is none."""
    hit = pc.match_substring_regex(column.texts, _CLOCK_ONLY)
    wide = pc.utf8_lpad(pc.replace_substring(column.texts, ".", ":"), 8, "0")
    short = pc.utf8_lpad(pc.replace_substring(column.texts, ".", ":"), 5, "0")
    seconds = pc.greater(pc.utf8_length(column.texts), 5)
    texts = pc.if_else(hit, pc.if_else(seconds, wide, short), pa.scalar(""))
    return np.asarray(texts.to_pylist(), dtype=object)[column.codes] if flags(hit).any() else (
        np.full(len(column.codes), "", dtype=object))  # fmt: skip


LAYOUT = Layout("episodes", table_of, draft)
