"""The columns of an alarm list: what its own cells say, and what its texts say beside them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading.alarm_words import SYSTEM, Message, read_message
from alarmsift.reading.sheet import TextColumn, flags
from alarmsift.reading.words import EVENTS, NOTHING, STATES, gas_of, key

# Where a field is looked for beside its own column, the most telling first.
_ASKED = ("level", "text", "event", "point", "state")
SWITCH = {"0", "1", "on", "off", "true", "false", "yes", "no", "x", ""}


@dataclass
class AlarmCells:
    """The columns of an alarm list's rows under plain names, shape (n,) each.

    Attributes
    ----------
    columns : dict
        Among point, gas, event, level, state, value, text.
    found_in : TextColumn or None
        Texts that may name the points.
    said : list of str
        How they were understood.
    """

    columns: dict[str, TextColumn]
    found_in: TextColumn | None = None
    said: list[str] = field(default_factory=list)


def complete(raw: dict[str, TextColumn], size: int) -> AlarmCells:
    """Return all columns that an alarm list needs, from those that it has.

    A cell that is not understood stays as it is, so that it is refused by its own name.

    Parameters
    ----------
    raw : dict
        Plain column -> cells as written, each shape (n,).
    size : int
        n
    """
    raw = _switch_among(raw)
    read = {n: _Read(raw[n], apart="point" in raw and n != "point") for n in _ASKED if n in raw}
    out = dict(raw)
    event = _events(raw, read, size)
    level = _levels(raw, read, event)
    gas = _own(raw, "gas", lambda text: bool(gas_of(text)), size)
    gas = _first(gas, [read[n].field("gas") for n in _ASKED if n in read])
    state = _states(raw, read, event)
    cells = AlarmCells(out)
    if "point" in raw:
        point = _without_gas(raw["point"], read["point"])
    else:
        point = read["text"].field("rest") if "text" in read else np.full(size, "", object)
    cells.found_in = raw.get("text")
    system = (point == "") & (event == "fault")
    point = np.where(system & np.isin(level, ["pump", "power", "analyser"]), SYSTEM, point)
    if "value" not in raw and "text" in read and (read["text"].field("value") != "").any():
        out["value"] = column_of(read["text"].field("value"))
    for name, made in (("event", event), ("level", level), ("gas", gas), ("state", state),
                       ("point", point)):  # fmt: skip
        out[name] = column_of(made)
    cells.said = _sentences(raw, state, event, point)
    return cells


def column_of(cells: np.ndarray) -> TextColumn:
    """Return an array of str, shape (n,), as a column."""
    codes, texts = pd.factorize(cells)
    texts = np.asarray(texts, dtype=object) if len(texts) else np.array([""], dtype=object)
    return TextColumn(codes.astype(np.int32), pa.array(texts.tolist(), pa.string()))


def words_of(column: TextColumn) -> np.ndarray:
    """Return the cells of a column as an array of str, shape (n,)."""
    return column.text(np.arange(len(column.codes)))


def is_switch(column: TextColumn) -> bool:
    """Tell whether a column holds nothing but on and off (1/0, ON/OFF, x)."""
    used = column.used() > 0
    texts = [t for t, use in zip(column.texts.to_pylist(), used, strict=True) if use]
    return any(texts) and all(text.lower() in SWITCH for text in texts)


def nothing(column: TextColumn) -> np.ndarray:
    """Return which cells are blank or a word for 'nothing', array of bool, shape (n,)."""
    bare = pc.utf8_lower(column.texts)
    empty = pc.or_(pc.is_in(bare, pa.array([*NOTHING, "", "open", "active", "still active"])),
                   pc.match_substring_regex(bare, r"^[\W_]*$"))  # fmt: skip
    return flags(empty)[column.codes]


class _Read:
    """One column's distinct texts as messages."""

    def __init__(self, column: TextColumn, *, apart: bool) -> None:
        self.codes = column.codes
        used = column.used() > 0
        none = Message()
        self.messages = [
            read_message(text, point_apart=apart) if use and text else none
            for text, use in zip(column.texts.to_pylist(), used, strict=True)
        ]

    def field(self, name: str) -> np.ndarray:
        """Return one field of each row, array of str, shape (n,)."""
        return np.array([getattr(m, name) for m in self.messages], dtype=object)[self.codes]


def _switch_among(raw: dict[str, TextColumn]) -> dict[str, TextColumn]:
    """Return the columns with the one that holds on and off as the state."""
    raw = dict(raw)
    if "state" not in raw:
        for name in ("status", "text", "event"):
            if name in raw and (name == "status" or is_switch(raw[name])):
                raw["state"] = raw.pop(name)
                break
    raw.pop("status", None)
    return raw


def _own(raw: dict[str, TextColumn], name: str, known: object, size: int) -> np.ndarray:
    if name not in raw:
        return np.full(size, "", dtype=object)
    return words_of(raw[name])


def _first(own: np.ndarray, others: list[np.ndarray]) -> np.ndarray:
    """Return each row's first field that says something."""
    out = own.copy()
    for other in others:
        out = np.where(out == "", other, out)
    return out


def _events(raw: dict[str, TextColumn], read: dict[str, _Read], size: int) -> np.ndarray:
    """Return alarm or fault: a fault that is named beats the general word 'alarm'."""
    own = np.full(size, "", dtype=object)
    if "event" in raw:
        direct = [EVENTS.get(key(t), "") for t in raw["event"].texts.to_pylist()]
        own = np.array(direct, dtype=object)[raw["event"].codes]
    said = [read[name].field("event") for name in _ASKED if name in read]
    fault = np.any([one == "fault" for one in said], axis=0) if said else np.zeros(size, bool)
    out = np.where(fault, "fault", _first(own, said))
    back = (out == "") & np.any(
        [np.isin(read[n].field("state"), ["cleared", "acknowledged", "reset"])
         for n in ("text", "state") if n in read] or [np.zeros(size, bool)], axis=0)  # fmt: skip
    out = np.where(back, "alarm", out)
    if "event" in raw:
        return _first(out, [words_of(raw["event"])])
    if "text" in raw:  # refused, if at all, with the words that were not understood
        return _first(out, [words_of(raw["text"])])
    # With neither the word nor a text, a list of points and states is a list of alarms.
    return np.where(out == "", "alarm", out)


def _levels(raw: dict[str, TextColumn], read: dict[str, _Read], event: np.ndarray) -> np.ndarray:
    said = _first(np.full(len(event), "", dtype=object),
                  [_fitting(read[n], event) for n in _ASKED if n in read])  # fmt: skip
    if "level" not in raw:
        return said
    own = words_of(raw["level"])
    understood = _fitting(read["level"], event)
    return np.where(understood != "", understood, np.where(own != "", own, said))


def _fitting(read: _Read, event: np.ndarray) -> np.ndarray:
    """Return the levels of texts that speak of the row's own kind of event."""
    level, kind = read.field("level"), read.field("event")
    return np.where((kind == event) | (event == ""), level, "")


def _states(raw: dict[str, TextColumn], read: dict[str, _Read], event: np.ndarray) -> np.ndarray:
    texts = [read[n].field("state") for n in ("text", "event", "level", "point") if n in read]
    if "state" not in raw:
        out = _first(np.full(len(event), "", dtype=object), texts)
        return np.where((out == "") & (event != ""), "raised", out)
    own = words_of(raw["state"])
    listed = raw["state"].texts.to_pylist()
    direct = np.array([STATES.get(_yes(t), "") for t in listed], dtype=object)[raw["state"].codes]
    message = read["state"]
    alarm = (message.field("state") == "") & (message.field("event") != "")
    out = _first(direct, [message.field("state"), np.where(alarm, "raised", "")])
    return _first(out, [own])


def _yes(text: str) -> str:
    word = key(text)
    return {"true": "on", "yes": "on", "x": "on", "false": "off", "no": "off"}.get(word, word)


def _without_gas(column: TextColumn, read: _Read) -> np.ndarray:
    """Return points, a tag's gas, level and fault taken off ('BT1P_HC_HIGH')."""
    own = words_of(column)
    rest = read.field("rest")
    tagged = (read.field("gas") != "") | (read.field("event") == "fault")
    return np.where(tagged & (rest != ""), rest, own)


def _sentences(
    raw: dict[str, TextColumn], state: np.ndarray, event: np.ndarray, point: np.ndarray
) -> list[str]:
    out = []
    if "text" in raw and not {"point", "event", "level"} <= raw.keys():
        out.append("what an alarm is about was read from its text")
    if "state" not in raw and len(state):
        silent = int(((state == "raised") & (event != "")).sum())
        out.append(f"{silent} rows whose text tells no other state were taken as raised")
    if (point == SYSTEM).any():
        out.append(f"faults of no single point were given the point '{SYSTEM}'")
    return out
