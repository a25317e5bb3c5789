"""Points named inside free texts: found by the names that the readings or the points table use."""

from __future__ import annotations

import dataclasses
import re

import pyarrow as pa

from alarmsift.reading.draft import Draft
from alarmsift.reading.sheet import TextColumn
from alarmsift.tables.site import Site


def settle_places(drafts: list[Draft], site: Site) -> list[Draft]:
    """Return the drafts, the points of free texts replaced by the known name that stands in them.

    Upper and lower case, and how many blanks stand between two words, make no difference; anything
    else does. A text that holds no known name keeps what was left over of it.
    """
    if all(draft.found_in is None for draft in drafts):
        return drafts
    names = set(site.aliases) | set(site.aliases.values())
    for draft in drafts:
        if draft.found_in is None and draft.table in ("readings", "points"):
            column = draft.columns["point"]
            names |= {str(text) for text in column.texts.to_pylist() if text}
    known = _Known(names)
    return [draft if draft.found_in is None else _settled(draft, known) for draft in drafts]


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


def _settled(draft: Draft, known: _Known) -> Draft:
    source, rest = draft.found_in, draft.columns["point"]
    assert source is not None
    names = [known.inside(text) for text in source.texts.to_pylist()]
    offset = len(names)
    texts = pa.concat_arrays([pa.array(names, pa.string()), rest.texts.cast(pa.string())])
    hit = pa.array([bool(name) for name in names]).to_numpy(zero_copy_only=False)[source.codes]
    codes = rest.codes + offset
    codes[hit] = source.codes[hit]
    return dataclasses.replace(draft, columns=draft.columns | {"point": TextColumn(codes, texts)})
