"""One column an alarm, holding 1 while it stands: its steps are raises and clears."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.reading import times
from alarmsift.reading.alarm_cells import column_of, is_switch, words_of
from alarmsift.reading.alarm_words import SYSTEM, Message, alarm_of_tag, read_message
from alarmsift.reading.draft import Draft, Layout, left_out, pick
from alarmsift.reading.header import Name
from alarmsift.reading.layouts import alarms, wide
from alarmsift.reading.sheet import Sheet, TextColumn
from alarmsift.reading.time_columns import time_column

_ON = {"1", "on", "true", "yes", "x", "active", "alarm", "alm", "1.0"}
_OFF = {"0", "off", "false", "no", "normal", "inactive", "ok", "0.0"}
_PLAIN = {"time", "date", "point", "gas", ""}


def about(name: Name, *, pointed: bool) -> Message | None:
    """Return what a column's header says of an alarm; None when it is no alarm."""
    if name.plain not in ("", "text", "ack") or name.gas or name.unit:
        return None
    if name.plain == "ack":
        return Message(event="alarm", state="acknowledged")
    found = read_message(name.core, point_apart=True) if pointed else alarm_of_tag(name.core)
    return found if found is not None and found.event else None


def _columns(names: list[Name]) -> dict[int, Message]:
    pointed = any(name.plain == "point" for name in names)
    found = {i: about(name, pointed=pointed) for i, name in enumerate(names)}
    return {i: message for i, message in found.items() if message is not None}


def table_of(names: list[Name]) -> str:
    """Return events when there are a time and columns named for alarms, and nothing else."""
    have = {name.plain for name in names}
    found = _columns(names)
    timed = have & {"time", "date"} and not have & {
        "state",
        "status",
        "value",
        "event",
        "end",
        "action",
    }
    other = any(name.gas for name in names) or wide.table_of(names)
    alarms = [m for m in found.values() if m.state != "acknowledged"]
    return "events" if timed and alarms and not other else ""


def draft(sheet: Sheet, names: list[Name], table: str) -> Draft:
    """Return one event for each step of a column from 0 to 1 or back."""
    found = pick(names, {"time", "date", "point", "gas"})
    messages = _columns(names)
    texts = [i for i in messages if names[i].plain == "text"]
    if any(not is_switch(sheet.columns[i]) for i in texts):  # words, not switches
        return alarms.draft(sheet, names, table)
    time = time_column(sheet, found)
    back = _backwards(time)
    point = words_of(sheet.columns[found["point"]]) if "point" in found else None
    gas = words_of(sheet.columns[found["gas"]]) if "gas" in found else None
    parts = []
    for number, message in messages.items():
        rows, state = _steps(sheet.columns[number], (point, gas), back)
        if message.state == "acknowledged":
            rows, state = rows[state != "cleared"], state[state != "cleared"]
            state = np.where(state == "raised", "acknowledged", state)
        own = point[rows] if point is not None else message.rest or SYSTEM
        gases = message.gas if message.gas or gas is None else gas[rows]
        parts.append(pd.DataFrame({"row": rows, "state": state, "point": own, "gas": gases,
                                   "event": message.event, "level": message.level,
                                   "text": names[number].written}))  # fmt: skip
    whole = pd.concat(parts).sort_values("row", kind="stable", ignore_index=True)
    rows = whole["row"].to_numpy(dtype=np.int64)
    columns = {n: column_of(whole[n].to_numpy(dtype=object)) for n in whole if n != "row"}
    columns["time"] = time.at(rows)
    return Draft(
        sheet=sheet,
        table=table,
        layout="switches",
        columns=columns,
        rows=rows,
        written={plain: names[number].written for plain, number in found.items()},
        left_out=left_out(names, set(found.values()) | set(messages)),
        said=("a step of a column to 1 was taken as raised, back to 0 as cleared; an alarm that "
              "stands in the first row was taken as raised there",),
    )  # fmt: skip


def _backwards(time: TextColumn) -> bool:
    """Tell whether the newest row stands first."""
    moment = times.parse(time.texts).moment[time.codes]
    steps = np.diff(moment)
    return bool((steps < 0).sum() > (steps > 0).sum())


def _steps(
    column: TextColumn, groups: tuple[np.ndarray | None, np.ndarray | None], back: bool
) -> tuple[np.ndarray, np.ndarray]:
    """Return the rows at which a column changes, each group for itself, and the new states.

    A cell that is neither on nor off comes with its own text as the state, to be refused.
    """
    words = [text.lower() for text in column.texts.to_pylist()]
    value = np.array([1 if w in _ON else 0 if w in _OFF else -1 for w in words], dtype=np.int8)
    frame = pd.DataFrame({"value": value[column.codes], "row": np.arange(len(column.codes))})
    by = [f"by{i}" for i, group in enumerate(groups) if group is not None]
    for i, group in enumerate(groups):
        if group is not None:
            frame[f"by{i}"] = group
    odd = np.flatnonzero((value < 0) & np.array([bool(w) for w in words]))
    odd_rows = np.flatnonzero(np.isin(column.codes, odd))
    frame = frame[frame["value"] >= 0]
    frame = frame.iloc[::-1] if back else frame
    before = frame.groupby(by, sort=False)["value"].shift(1) if by else frame["value"].shift(1)
    changed = frame[frame["value"] != before.fillna(0)].sort_values("row")
    rows = np.concatenate([changed["row"].to_numpy(dtype=np.int64), odd_rows])
    state = np.where(changed["value"] == 1, "raised", "cleared").astype(object)
    return rows, np.concatenate([state, column.text(odd_rows)])


LAYOUT = Layout("switches", table_of, draft)
