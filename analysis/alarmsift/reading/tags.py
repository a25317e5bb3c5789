"""The tag of a historian's column: its point, and its gas or other quantity."""

from __future__ import annotations

import re
from dataclasses import dataclass

from alarmsift.reading.words import COLUMNS, gas_of, key

_SPLIT = re.compile(r"([\s._/\\:|\-]+)")
_LONGEST = 300  # letters; no tag is longer
_TAIL = {"pv", "value", "val", "measured", "ai", "analog"}  # say nothing about the point
_BESIDE = ("flow", "suction", "temperature", "humidity", "status")


@dataclass(frozen=True)
class Tag:
    """One column: its point, and the gas or the column of the plain layout (or both)."""

    number: int
    point: str
    gas: str
    beside: str


def read_tag(number: int, text: str) -> Tag | None:
    """Return what a column's tag names; None when it names no gas of a point.

    Examples
    --------
    >>> tag = read_tag(1, "GDS:BT1P:HC:PV")
    >>> tag.point, tag.gas
    ('GDS:BT1P', 'HC')
    """
    if len(text) > _LONGEST:
        return None
    parts = _SPLIT.split(text.strip())
    words, marks = parts[0::2], parts[1::2]
    while len(words) > 1 and words[-1].lower() in _TAIL:
        words, marks = words[:-1], marks[:-1]
    if len(words) < 2:
        return None
    for at in (len(words) - 1, 0, *range(1, len(words) - 1)):
        gas = gas_of(words[at])
        plain = COLUMNS.get(key(words[at]), key(words[at]))
        rest = _without(words, marks, at)
        if gas and rest:
            return Tag(number, rest, gas, "")
        if plain in _BESIDE and rest:
            inner = read_tag(number, rest)
            point, inner_gas = (inner.point, inner.gas) if inner else (rest, "")
            return Tag(number, point, inner_gas, plain)
    return None


def _without(words: list[str], marks: list[str], at: int) -> str:
    """Return the tag without one word and the mark behind it (before it, at the end)."""
    if at == len(words) - 1:
        words, marks = words[:-1], [*marks[:-1], ""]
    else:
        words, marks = words[:at] + words[at + 1 :], [*marks[:at], *marks[at + 1 :], ""]
    return "".join(word + mark for word, mark in zip(words, marks, strict=True)).strip()
