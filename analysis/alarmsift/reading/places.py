"""What alarm lists and remarks are about: points named inside texts, and other people's alarms.

A point is found by the names that the readings or the points table use. The alarm list of a whole
ship speaks of pumps and lubricating oil too; such rows are no gas alarms and are refused.
"""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pandas as pd

from alarmsift.reading.alarm_cells import column_of, words_of
from alarmsift.reading.alarm_words import SYSTEM
from alarmsift.reading.draft import Draft
from alarmsift.reading.sheet import TextColumn
from alarmsift.tables.site import Site

_OURS = re.compile(r"\bgas|sampl|analy[sz]er|detector|hydrocarbon|\bHC\b|\bLEL\b", re.IGNORECASE)
# Faults that machinery of any kind can have.
_ANYBODYS = ("pump", "power", "fault", "analyser", "")


def settle_places(drafts: list[Draft], site: Site) -> list[Draft]:
    """Return the drafts, the points of free texts replaced by the known name that stands in them.

    Upper and lower case, and how many blanks stand between two words, make no difference; anything
    else does. A point that is known already stays, and so does one whose text holds no known name.
    """
    if all(draft.found_in is None for draft in drafts):
        return drafts
    names = set(site.aliases) | set(site.aliases.values())
    for draft in drafts:
        if draft.found_in is None and draft.table in ("readings", "points"):
            column = draft.columns["point"]
            names |= {str(text) for text in column.texts.to_pylist() if text}
    known = _Known(names)
    return [_settled(draft, known, names) for draft in drafts]


class _Known:
    """The names of points, to be found in texts."""

    def __init__(self, names: set[str]) -> None:
        self.by = {_plain(name): name for name in sorted(names) if any(c.isalnum() for c in name)}
        longest = sorted(self.by, key=lambda name: (-len(name), name))
        body = "|".join(re.escape(name).replace(r"\ ", r"\s+") for name in longest)
        self.pattern = re.compile(rf"(?<!\w)(?:{body})(?!\w)") if body else None

    def inside(self, text: str) -> str:
        """Return the one known name in a text; blank when there is none, or more than one."""
        if self.pattern is None:
            return ""
        found = {_plain(match[0]) for match in self.pattern.finditer(text.lower())}
        return self.by[found.pop()] if len(found) == 1 else ""


def _plain(name: str) -> str:
    return " ".join(name.lower().split())


def _settled(draft: Draft, known: _Known, names: set[str]) -> Draft:
    source, own = draft.found_in, draft.columns.get("point")
    if source is None or own is None:
        return draft
    inside = np.array([known.inside(text) for text in source.texts.to_pylist()], dtype=object)
    there = inside[source.codes]
    point = words_of(own)
    new = (there != "") & (there != point) & ~np.isin(point.astype(str), sorted(names))
    point = np.where(new, there, point)
    said = ("points were found in its texts by the readings' names",) if new.any() else ()
    columns = draft.columns | {"point": column_of(point)}
    if draft.table == "events" and names:
        columns["event"] = _ours(draft, point, source, names)
    return dataclasses.replace(draft, columns=columns, said=(*draft.said, *said))


def _ours(draft: Draft, point: np.ndarray, source: TextColumn, names: set[str]) -> TextColumn:
    """Return the kind of each event; of those about other machinery their text, to be refused."""
    event, gas, level = (words_of(draft.columns[name]) for name in ("event", "gas", "level"))
    about = np.array([bool(_OURS.search(text)) for text in source.texts.to_pylist()], dtype=bool)
    sure = (gas != "") | ((event == "fault") & ~np.isin(level.astype(str), _ANYBODYS))
    places = names | set(pd.unique(point[sure]).tolist()) | {SYSTEM}
    ours = sure | about[source.codes] | np.isin(point.astype(str), sorted(map(str, places)))
    return column_of(np.where(ours, event, words_of(source)))
