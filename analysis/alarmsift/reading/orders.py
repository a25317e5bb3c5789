"""Day first or month first, comma or point: settled by all the logs together, or asked."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers, times
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.tables.schema import TABLES

_DAY = 86_400_000_000  # [us]
_CLEAR = 20  # how many times more cells must speak for one reading than for the other


def settle_order(drafts: list[Draft], known: Known) -> list[bool]:
    """Return for each draft whether its numeric dates begin with the day."""
    said = [_file_order(draft) for draft in drafts]
    if known.site.date_order:
        return [known.site.date_order == "day-first"] * len(drafts)
    sure = {order for order in said if order in ("day-first", "month-first")}
    for number, order in enumerate(said):
        if order == "open":
            if len(sure) != 1:
                raise _ask_order(drafts[number])
            said[number] = next(iter(sure))
    for order in sorted(sure):
        files = [d.sheet.file for d, one in zip(drafts, said, strict=True) if one == order]
        known.books.learn(f"Dates were read {order} in {', '.join(files)}.")
    return [order != "month-first" for order in said]


def _file_order(draft: Draft) -> str:
    """Return day-first, month-first, open, or blank when no date leaves it open."""
    column = draft.columns.get("time")
    if column is None:
        return ""
    found = times.parse(column.texts, day_first=True)
    used = column.used() > 0
    first, second = found.first[used], found.second[used]
    some = (first > 0) & (second > 0) & (np.minimum(first, second) <= 12)
    if not some.any():
        return ""
    first, second = first[some], second[some]
    day = int(((first > 12) & (first <= 31) & (second <= 12)).sum())
    month = int(((second > 12) & (second <= 31) & (first <= 12)).sum())
    if day > _CLEAR * month:
        return "day-first"
    if month > _CLEAR * day:
        return "month-first"
    if not day and not month and (first == second).all():
        return ""
    return "open" if day or month else _by_steps(draft)


def _by_steps(draft: Draft) -> str:
    """Return the order in which the log goes on from day to day, where the other one leaps.

    From 3/4 to 4/4 is one day when the day stands first and a month when it stands second.
    """
    column = draft.columns["time"]
    longest = {}
    for order in ("day-first", "month-first"):
        moment = times.parse(column.texts, day_first=order == "day-first").moment[column.codes]
        days = np.sort(pd.unique(moment // _DAY))
        steps = np.diff(days)
        longest[order] = int(steps.max()) if len(steps) else 0
    near, far = sorted(longest, key=lambda order: longest[order])
    return near if 1 <= longest[near] <= 2 and longest[far] >= 27 else "open"


def _ask_order(draft: Draft) -> InputError:
    column = draft.columns["time"]
    found = times.parse(column.texts, day_first=True)
    open_rows = ((found.first > 0) & (found.first != found.second))[column.codes]
    row = np.flatnonzero(open_rows)[:1]
    text = str(column.text(row)[0])
    at = int(column.codes[row[0]])
    one, two = int(found.first[at]), int(found.second[at])
    return InputError(
        f"the date '{text}' can be read as day {one} of month {two} or as day {two} of month "
        f"{one}, and nothing in the logs decides.",
        file=draft.sheet.file,
        row=int(draft.sheet.lines[draft.rows[row[0]]]),
        column=draft.written.get("time", draft.written.get("date", "time")),
        mend='Add to site.toml the line date_order = "day-first" or date_order = "month-first".',
    )


def settle_decimal(drafts: list[Draft], known: Known) -> list[bool]:
    """Return for each draft whether a comma is its decimal mark."""
    if known.site.decimal:
        return [known.site.decimal == ","] * len(drafts)
    seen = [_file_decimal(draft) for draft in drafts]
    sure = {mark for mark in seen if mark in (",", ".")}
    for number, mark in enumerate(seen):
        if mark == "open":
            if len(sure) != 1:
                raise _ask_decimal(drafts[number])
            seen[number] = next(iter(sure))
    files = [d.sheet.file for d, mark in zip(drafts, seen, strict=True) if mark == ","]
    if files:
        known.books.learn(f"The comma is the decimal mark in {', '.join(files)}.")
    return [mark == "," for mark in seen]


def _numeric(draft: Draft) -> list[str]:
    kinds = {column.name: column.kind for column in TABLES[draft.table].columns}
    return [n for n in draft.columns if kinds.get(n) in ("number", "whole")]


def _file_decimal(draft: Draft) -> str:
    columns = [draft.columns[name] for name in _numeric(draft)]
    comma, point, open_comma, _ = cell_numbers.decimal_evidence(columns)
    if comma > _CLEAR * point:
        return ","
    if point > _CLEAR * comma:
        return "."
    if comma or point:
        return "," if comma > point else "."
    return "open" if open_comma else ""


def _ask_decimal(draft: Draft) -> InputError:
    return InputError(
        "numbers like '1,234' can be read as 1.234 or as 1234, and nothing in the logs decides.",
        file=draft.sheet.file,
        mend='Add to site.toml the line decimal = "," (1.234) or decimal = "." (1234).',
    )
