"""Numbers as logs write them, and what stands in a cell instead of a number."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading.sheet import TextColumn, flags
from alarmsift.reading.units import is_unit
from alarmsift.reading.words import value_status

_PLAIN = r"^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$"
_BEYOND = re.compile(r"^([<>≤≥])=?\s*(.*)$")
_WITH_UNIT = re.compile(r"^([<>]?\s*[+-]?[\d.,'\u00a0 ]*\d)\s*([^\d\s].*)$")
_LONGEST = 60  # letters; no number is longer
# A field filled with stars or hashes, or a number of an error: no reading (common practice).
_NO_READING = re.compile(r"^(?:[*#]{2,}|(?:err(?:or)?|fault|flt|fail(?:ed|ure)?)[\s#:.-]*\w{0,6})$",
                         re.IGNORECASE)  # fmt: skip
_MINUS = str.maketrans({"\u2212": "-", "\u2013": "-", "\u00a0": " ", "\u202f": " "})


@dataclass(frozen=True)
class Numbers:
    """The distinct cells of a column of numbers.

    Attributes
    ----------
    value : array of float, shape (m,)
        NaN where there is none.
    bad : array of bool, shape (m,)
        Neither blank, nor number, nor a word for a state.
    status : array of str, shape (m,)
        State that stands in place of the number (or says that it is only a bound), else ``""``.
    unit : array of str, shape (m,)
        Unit written behind the number, else ``""``.
    """

    value: np.ndarray
    bad: np.ndarray
    status: np.ndarray
    unit: np.ndarray


def parse(texts: pa.Array, *, comma: bool = False) -> Numbers:
    """Return the numbers of texts, shape (m,).

    Parameters
    ----------
    texts : pyarrow string array, shape (m,)
        Without surrounding white space.
    comma : bool
        A comma is the decimal mark (and a point marks thousands); else the other way round.
    """
    size = len(texts)
    status, unit = np.full(size, "", dtype=object), np.full(size, "", dtype=object)
    plain_texts = _point_for_comma(texts) if comma else texts
    hit = flags(pc.match_substring_regex(plain_texts, _PLAIN))
    value = np.full(size, np.nan)
    value[hit] = pc.cast(
        pc.replace_substring_regex(plain_texts.filter(pa.array(hit)), r"^\+", ""), pa.float64()
    ).to_numpy(zero_copy_only=False)
    hit &= ~np.isinf(value)
    value[~hit] = np.nan
    rest = np.flatnonzero(~hit)
    bad = np.zeros(size, dtype=bool)
    for at, text in zip(rest.tolist(), texts.take(pa.array(rest)).to_pylist(), strict=True):
        value[at], status[at], unit[at], bad[at] = _odd(text, comma)
    return Numbers(value, bad, status, unit)


def _point_for_comma(texts: pa.Array) -> pa.Array:
    """Return texts with the decimal comma as a point, thousands points taken out."""
    grouped = pc.match_substring_regex(texts, r"^[+-]?\d{1,3}(?:\.\d{3})+(?:,\d+)?$")
    bare = pc.replace_substring(texts, ".", "")
    single = pc.if_else(grouped, bare, texts)
    return pc.replace_substring(single, ",", ".")


def _odd(text: str, comma: bool) -> tuple[float, str, str, bool]:
    """Return value, status, unit and badness of one cell that is no plain number."""
    if len(text) > _LONGEST:
        return np.nan, "", "", True
    text = text.translate(_MINUS).strip()
    state = value_status(text) or ("fault" if _NO_READING.match(text) else "")
    if state or not text:
        return np.nan, state, "", False
    beyond = _BEYOND.match(text)
    if beyond:
        bound, _, unit, bad = _odd(beyond[2], comma)
        if bad or np.isnan(bound):
            return np.nan, "", "", True
        # "<0.1" is no 0.1; but ">100" is at least 100, and the status says that it is a bound.
        return (np.nan, "under_range", unit, False) if beyond[1] in "<≤" else (
            bound, "over_range", unit, False)  # fmt: skip
    found = _WITH_UNIT.match(text)
    if found and is_unit(found[2]):
        number = _number(found[1], comma)
        return (np.nan, "", "", True) if number is None else (number, "", found[2].strip(), False)
    number = _number(text, comma)
    return (np.nan, "", "", True) if number is None else (number, "", "", False)


def _number(text: str, comma: bool) -> float | None:
    """Return a number with thousands marks, None when it isn't one."""
    decimal, thousands = (",", ".") if comma else (".", ",")
    pattern = rf"^[+-]?\d{{1,3}}(?:[{re.escape(thousands)}' ]\d{{3}})+(?:{re.escape(decimal)}\d+)?$"
    if re.match(pattern, text):
        text = re.sub(rf"[{re.escape(thousands)}' ]", "", text)
    text = text.replace(decimal, ".") if comma else text
    return float(text) if re.match(_PLAIN, text) else None


_AROUND = r"^[<>≤≥=\s]+|\s*[%A-Za-zµ°][^,]*$"  # a bound's sign, a unit
_COMMA_DECIMAL = (
    r"^[+-]?(?:\d*,(?:\d{1,2}|\d{4,})|0,\d{3}|\d{1,3}(?:[. \x{a0}\x{202f}']\d{3})+,\d+)$"
)
_POINT_DECIMAL = (
    r"^[+-]?(?:\d*\.(?:\d{1,2}|\d{4,})|0\.\d{3}|\d{1,3}(?:[, \x{a0}\x{202f}']\d{3})+\.\d+)$"
)
OPEN = r"^[+-]?[1-9]\d{0,2},\d{3}$"
_POINT_OPEN = r"^[+-]?[1-9]\d{0,2}\.\d{3}$"


def decimal_evidence(columns: list[TextColumn]) -> tuple[int, int, int, int]:
    """Return how many cells speak for a decimal comma, a decimal point, and are open.

    Returns
    -------
    (comma, point, open_comma, open_point) : tuple of int
        ``1,234`` and ``1.234`` are open: thousands mark or decimal mark.
    """
    totals = [0, 0, 0, 0]
    for column in columns:
        used = column.used()
        bare = pc.replace_substring_regex(column.texts, _AROUND, "")
        for i, pattern in enumerate((_COMMA_DECIMAL, _POINT_DECIMAL, OPEN, _POINT_OPEN)):
            totals[i] += int(used[flags(pc.match_substring_regex(bare, pattern))].sum())
    return totals[0], totals[1], totals[2], totals[3]
