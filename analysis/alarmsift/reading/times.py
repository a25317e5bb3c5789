"""Times as logs write them: ISO 8601, day-first, month-first, with month names, epoch seconds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading.fixed_times import compose, fixed_width
from alarmsift.reading.sheet import flags

_DAY = 86_400_000_000  # [us]
# Stands behind a time of day that belongs to the day after its date (an alarm past midnight).
NEXT_DAY = " +1d"

_CLOCK = (
    r"(?P<h>\d{1,2})[:.h](?P<mi>\d{2})(?:[:.](?P<s>\d{2})(?:[.,:](?P<f>\d{1,9}))?)?"
    r"(?:\s*(?P<ap>[AaPp])\.?[Mm]\.?)?"
)
_ZONE = r"(?P<nd> \+1d)?\s*\(?(?P<z>[Zz]|(?:UTC|GMT)?[+-]\d{1,2}(?::?\d{2})?|UTC|GMT)?\)?"
_GAP = r"(?:[Tt]|,?\s+)"
_YEAR = r"(?P<y>\d{4}|\d{2})"
_WEEKDAY = r"^(?:[A-Za-z]{3,9},?\s+)?"
_WORD = r"(?P<b>[A-Za-z]{3,9})"
_SHAPES = {
    "ymd": r"^(?P<y>\d{4})[-/.](?P<m>\d{1,2})[-/.](?P<d>\d{1,2})" + _GAP + _CLOCK + _ZONE + "$",
    "abY": r"^(?P<d>\d{1,2})[-/.](?P<m>\d{1,2})[-/.]" + _YEAR + _GAP + _CLOCK + _ZONE + "$",
    "dby": _WEEKDAY + r"(?P<d>\d{1,2})[-/.\s]+" + _WORD + r"[-/.,\s]+" + _YEAR + r",?\s+"
    + _CLOCK + _ZONE + "$",
    "bdy": _WEEKDAY + _WORD + r"\.?\s+(?P<d>\d{1,2}),?\s+(?P<y>\d{4}),?\s+"
    + _CLOCK + _ZONE + "$",
    "packed": r"^(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})[Tt_\s-]?"
    r"(?P<h>\d{2})(?P<mi>\d{2})(?P<s>\d{2})?" + _ZONE + "$",
}  # fmt: skip
_NAMES = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTHS = {name: i + 1 for i, name in enumerate(_NAMES)}
_EPOCH = r"^\d{9,10}(?:[.,]\d+)?$|^\d{13}$"
# Days since 1899-12-30, as spreadsheets count them (ECMA-376 part 1, 18.17.4.1: base 1900); a date
# and a time of day in two such cells are added.
_SERIAL = r"^(?P<n>\d{5})(?:[.,](?P<f>\d+))?(?: 0?[.,](?P<g>\d+))?$"
_SERIAL_ZERO = 25_569  # days from 1899-12-30 to 1970-01-01
ORDERS = ("day-first", "month-first", "year-first")


@dataclass(frozen=True)
class Times:
    """The distinct times of one column.

    Attributes
    ----------
    moment : array of int64, shape (m,)
        Microseconds since 1970: UTC where ``aware``, else by the clock that wrote them.
    aware : array of bool, shape (m,)
        The text says its offset from UTC.
    bad : array of bool, shape (m,)
        No time.
    minutes_only : bool
        No text says seconds.
    first, second, third : array of int16, shape (m,)
        The numbers whose order (day, month, year) the text leaves open; 0 elsewhere, and -1 for a
        third that is surely the year.
    """

    moment: np.ndarray
    aware: np.ndarray
    bad: np.ndarray
    minutes_only: bool
    first: np.ndarray
    second: np.ndarray
    third: np.ndarray


def parse(texts: pa.Array, *, order: str = "day-first") -> Times:
    """Return the moments of texts, shape (m,).

    Parameters
    ----------
    texts : pyarrow string array, shape (m,)
        Without surrounding white space.
    order : str
        How to read a numeric date that doesn't begin with a year of four digits: one of ORDERS.
    """
    size = len(texts)
    out = _Open(size)
    plain = fixed_width(texts, order)
    if plain is not None:
        out.set(np.arange(size), (plain.moment, plain.aware, plain.good), seconds=True)
        if plain.first is not None and plain.second is not None:
            out.first, out.second, out.third = plain.first, plain.second, out.third - 1
        return out.done()
    left = np.arange(size)
    for shape, pattern in _SHAPES.items():
        left = _try_shape(texts, left, (shape, pattern), order, out)
        if not len(left):
            break
    left = _try_epoch(texts, left, out)
    _try_serial(texts, left, out)
    return out.done()


class _Open:
    """Times while they are being found."""

    def __init__(self, size: int) -> None:
        self.moment = np.zeros(size, dtype=np.int64)
        self.aware = np.zeros(size, dtype=bool)
        self.bad = np.ones(size, dtype=bool)
        self.first = np.zeros(size, dtype=np.int16)
        self.second = np.zeros(size, dtype=np.int16)
        self.third = np.zeros(size, dtype=np.int16)
        self.seconds = False

    def set(
        self,
        rows: np.ndarray,
        found: tuple[np.ndarray, np.ndarray, np.ndarray],
        *,
        seconds: bool,
    ) -> None:
        moment, aware, good = found
        self.moment[rows], self.aware[rows], self.bad[rows] = moment, aware, ~good
        self.seconds |= seconds

    def done(self) -> Times:
        minutes = not self.seconds and not bool(self.bad.all())
        return Times(
            self.moment, self.aware, self.bad, minutes, self.first, self.second, self.third
        )


def _try_shape(
    texts: pa.Array, left: np.ndarray, shape: tuple[str, str], order: str, out: _Open
) -> np.ndarray:
    """Read the texts of one shape; return those that are still left."""
    name, pattern = shape
    some = texts.take(pa.array(left)) if len(left) < len(texts) else texts
    found = pc.extract_regex(some, pattern)
    hit = flags(pc.is_valid(found))
    if not hit.any():
        return left
    rows, parts = left[hit], found.filter(pa.array(hit))
    names = {f.name for f in parts.type}
    year, day = _number(parts, "y"), _number(parts, "d")
    month = _month(pc.struct_field(parts, "b")) if "b" in names else _number(parts, "m")
    if name == "abY":
        out.first[rows], out.second[rows] = day, month
        out.third[rows] = np.where(year < 100, year, -1)
        if order == "month-first":
            day, month = month, day
        elif order == "year-first":
            year, day = np.where(year < 100, day, year), np.where(year < 100, year, day)
    year = np.where(year < 100, year + 2000, year)
    texts_s = pc.struct_field(parts, "s")
    seconds = bool(flags(pc.not_equal(texts_s, "")).any())
    hour = _number(parts, "h")
    if "ap" in names:
        hour = _half_day(hour, pc.struct_field(parts, "ap"))
    moment, good = compose(year, month, day, (hour, _number(parts, "mi"), _number(parts, "s")))
    moment = moment + _DAY * flags(pc.not_equal(pc.struct_field(parts, "nd"), ""))
    if "f" in names:
        moment = moment + _fraction(pc.struct_field(parts, "f"))
    offset, aware = _offset(pc.struct_field(parts, "z"))
    out.set(rows, (moment - offset, aware, good), seconds=seconds)
    return left[~hit]


def _number(parts: pa.StructArray, name: str) -> np.ndarray:
    field = pc.struct_field(parts, name)
    filled = pc.if_else(pc.equal(field, ""), "0", field)
    return np.asarray(pc.cast(filled, pa.int32()).to_numpy(zero_copy_only=False))


def _month(words: pa.Array) -> np.ndarray:
    lower = pc.utf8_slice_codeunits(pc.utf8_lower(words), 0, 3).dictionary_encode()
    months = [_MONTHS.get(word, 0) for word in lower.dictionary.to_pylist()]
    return np.asarray(
        np.array(months, dtype=np.int32)[lower.indices.to_numpy(zero_copy_only=False)]
    )


def _half_day(hour: np.ndarray, mark: pa.Array) -> np.ndarray:
    """Return hours of a 24 h day from hours with AM or PM; 13 PM becomes an impossible 99."""
    pm = flags(pc.equal(pc.utf8_lower(mark), "p"))
    am = flags(pc.equal(pc.utf8_lower(mark), "a"))
    half = am | pm
    out = np.where(half, hour % 12 + 12 * pm, hour)
    return np.where(half & ((hour > 12) | (hour == 0)), 99, out)


def _fraction(digits: pa.Array) -> np.ndarray:
    """Return fractions of a second [us]."""
    six = pc.utf8_slice_codeunits(pc.utf8_rpad(digits, 6, "0"), 0, 6)
    return np.asarray(pc.cast(six, pa.int64()).to_numpy(zero_copy_only=False))


def _offset(zone: pa.Array) -> tuple[np.ndarray, np.ndarray]:
    """Return offsets from UTC [us] and whether one was written, each shape (m,)."""
    coded = zone.dictionary_encode()
    words = coded.dictionary.to_pylist()
    offsets = np.array([_one_offset(word) for word in words], dtype=np.int64)
    said = np.array([bool(word) for word in words])
    at = coded.indices.to_numpy(zero_copy_only=False)
    return np.asarray(offsets[at]), np.asarray(said[at])


def _one_offset(word: str) -> int:
    word = word.upper().removeprefix("UTC").removeprefix("GMT")
    if not word or word[0] not in "+-":
        return 0
    digits = word[1:].replace(":", "")
    digits = digits.zfill(2).ljust(4, "0") if len(digits) < 3 else digits.zfill(4)
    minutes = int(digits[:2]) * 60 + int(digits[2:])
    return (minutes if word[0] == "+" else -minutes) * 60_000_000


def _try_epoch(texts: pa.Array, left: np.ndarray, out: _Open) -> np.ndarray:
    if not len(left):
        return left
    some = texts.take(pa.array(left))
    hit = flags(pc.match_substring_regex(some, _EPOCH))
    if not hit.any():
        return left
    plain = pc.replace_substring(some.filter(pa.array(hit)), ",", ".")
    value = np.asarray(pc.cast(plain, pa.float64()).to_numpy(zero_copy_only=False))
    moment = np.round(value * np.where(value > 1e11, 1e3, 1e6)).astype(np.int64)
    good = (moment >= 20 * 365 * _DAY) & (moment < 130 * 365.25 * _DAY)
    out.set(left[hit], (moment, np.ones(int(hit.sum()), dtype=bool), good), seconds=True)
    return left[~hit]


def _try_serial(texts: pa.Array, left: np.ndarray, out: _Open) -> None:
    """Read a spreadsheet's days, to the millisecond: more is not in a double of that size."""
    if not len(left):
        return
    found = pc.extract_regex(texts.take(pa.array(left)), _SERIAL)
    hit = flags(pc.is_valid(found))
    if not hit.any():
        return
    parts = found.filter(pa.array(hit))
    days = _number(parts, "n").astype(np.int64) - _SERIAL_ZERO
    part = sum(_part(pc.struct_field(parts, name)) for name in ("f", "g"))
    moment = days * _DAY + np.round(part * 86_400_000).astype(np.int64) * 1000
    good = (moment >= 20 * 365 * _DAY) & (moment < 130 * 365.25 * _DAY)
    out.set(left[hit], (moment, np.zeros(int(hit.sum()), dtype=bool), good), seconds=True)


def _part(digits: pa.Array) -> np.ndarray:
    """Return the decimals of numbers as fractions, shape (m,)."""
    texts = pc.binary_join_element_wise("0", pc.if_else(pc.equal(digits, ""), "0", digits), ".")
    return np.asarray(pc.cast(texts, pa.float64()).to_numpy(zero_copy_only=False))
