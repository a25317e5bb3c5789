"""Where a file keeps its times: one column or two, and what its header says of zone and order."""

from __future__ import annotations

import re
from functools import cache
from zoneinfo import available_timezones

import numpy as np
import pyarrow.compute as pc

from alarmsift.reading import times
from alarmsift.reading.joined import Joined
from alarmsift.reading.sheet import Sheet, TextColumn

# A spreadsheet's date has midnight behind it, and its time of day a day nought before it.
_MIDNIGHT = r"[T ]0?0:00(?::00(?:\.0+)?)?$"
_DAY_NOUGHT = (
    r"^(?:30[./-]12[./-]1899|1899-12-3[01]|12/3[01]/1899|31[./-]12[./-]1899|1900-01-0[01]|"
    r"0?[01][./-]0?1[./-]1900|1970-01-01)[T ]+"
)
_FOUR_DIGITS = r"^(\d{2})(\d{2})(?:h|hrs?)?$"  # 0800
_ZONE = re.compile(r"^(?:z|(?:utc|gmt)?\s*(?:([+-])\s*(\d{1,2})(?::?(\d{2}))?)?)$", re.IGNORECASE)
_LOCAL = re.compile(r"^(?:lt|lmt|smt|local|local time|ship'?s? time|ship|st)$", re.IGNORECASE)
_PATTERN = re.compile(r"^[dmyhsapt24:./,\-\s]{2,}$", re.IGNORECASE)
_HOUR = 3_600_000_000  # [us]
_SOME = 1000  # texts that tell whether the rest is worth a look


def time_column(sheet: Sheet, found: dict[str, int]) -> TextColumn:
    """Return the column of times, putting a date and a time of day together."""
    if "time" not in found:
        return sheet.columns[found["date"]]
    time = sheet.columns[found["time"]]
    if "date" not in found:
        return time
    if _whole(time):
        return time
    return dated(sheet.columns[found["date"]], time)


def dated(date: TextColumn, time: TextColumn) -> TextColumn:
    """Return dates and times of day as one column, without a spreadsheet's spare parts."""
    clock = pc.replace_substring_regex(time.texts, _DAY_NOUGHT, "")
    clock = pc.replace_substring_regex(clock, _FOUR_DIGITS, r"\1:\2")
    return Joined(_cleaned(_filled(date, time), _MIDNIGHT), TextColumn(time.codes, clock))


def _filled(date: TextColumn, time: TextColumn) -> TextColumn:
    """Return dates, a blank one beside a time of day filled with the date above it.

    Printed lists write a date only where it changes.
    """
    blank = date.blank()
    if not blank.any() or blank.all() or blank[0]:
        return date
    last = np.maximum.accumulate(np.where(blank, 0, np.arange(len(blank))))
    return TextColumn(date.codes[np.where(blank & ~time.blank(), last, np.arange(len(blank)))],
                      date.texts)  # fmt: skip


def _whole(time: TextColumn) -> bool:
    """Tell whether a column of times holds the date too, whatever its day nought."""
    bare = pc.match_substring_regex(time.texts, _DAY_NOUGHT)
    bad = [times.parse(time.texts, order=order).bad for order in times.ORDERS]
    good = ~np.all(bad, axis=0) & ~np.asarray(bare.to_numpy(zero_copy_only=False), dtype=bool)
    return float(good[time.codes].mean()) > 0.5 if len(time.codes) else False


def _cleaned(column: TextColumn, pattern: str) -> TextColumn:
    return TextColumn(column.codes, pc.replace_substring_regex(column.texts, pattern, ""))


def is_hint(text: str) -> bool:
    """Tell whether what stands beside a header's word for time is about its zone or form."""
    text = text.strip()
    form = bool(_PATTERN.match(text)) and bool(re.search(r"[dmyhs]{2}", text.lower()))
    return bool(text) and bool(_ZONE.match(text) or _LOCAL.match(text) or form or region_of(text))


def region_of(hint: str) -> str:
    """Return the IANA zone that a header names, blank when it names none."""
    return hint.strip() if "/" in hint and hint.strip() in _zones() else ""


@cache
def _zones() -> set[str]:
    """Return all IANA zones; looking them up goes through a folder tree."""
    return available_timezones()


def zone_of(hint: str) -> int | None:
    """Return the offset from UTC [us] that a header says; None when it says none.

    Examples
    --------
    >>> zone_of("UTC+2") == 2 * 3_600_000_000, zone_of("UTC"), zone_of("LT")
    (True, 0, None)
    """
    found = _ZONE.match(hint.strip()) if hint.strip() else None
    if found is None:
        return None
    offset = int(found[2] or 0) * _HOUR + int(found[3] or 0) * _HOUR // 60
    return -offset if found[1] == "-" else offset


def order_of(hint: str) -> str:
    """Return the order of a date that a header shows ('dd/mm/yyyy'), blank when it shows none."""
    text = hint.strip().lower()
    if not _PATTERN.match(text):
        return ""
    seen = re.findall(r"d{1,2}|y{2,4}|m{1,2}", text)
    first = "".join(part[0] for part in seen)[:3]
    return {"dmy": "day-first", "mdy": "month-first", "ymd": "year-first"}.get(first, "")


def clocks_only(column: TextColumn) -> bool:
    """Tell whether a column holds times of day and no dates."""
    form = r"^\d{1,2}[:.]\d{2}(?:[:.]\d{2})?(?:[.,]\d+)?$"
    if not pc.any(pc.match_substring_regex(column.texts[:_SOME], form)).as_py():
        return False  # of millions of texts some would be among the first ones
    hit = pc.match_substring_regex(column.texts, form)
    share = np.asarray(hit.to_numpy(zero_copy_only=False), dtype=float)[column.codes]
    return len(share) > 0 and float(share.mean()) > 0.5
