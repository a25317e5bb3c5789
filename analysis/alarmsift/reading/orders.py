"""Day first or month first, comma or point: settled by all the logs together, or asked."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.errors import InputError
from alarmsift.reading import cell_numbers, times
from alarmsift.reading.asked import Known
from alarmsift.reading.draft import Draft
from alarmsift.reading.joined import Joined
from alarmsift.reading.question import rows_shown
from alarmsift.reading.sheet import TextColumn, flags
from alarmsift.reading.time_columns import order_of
from alarmsift.tables.schema import TABLES

_DAY = 86_400_000_000  # [us]
_CLEAR = 20  # how many times more cells must speak for one reading than for the other


def settle_order(drafts: list[Draft], known: Known) -> list[str]:
    """Return for each draft the order of its numeric dates, one of ``times.ORDERS``."""
    if known.site.date_order:
        return [known.site.date_order] * len(drafts)
    fits = [_fitting(draft) for draft in drafts]
    sure = {one[0] for one in fits if len(one) == 1}
    for number, orders in enumerate(fits):
        if len(orders) > 1:
            left = [order for order in orders if order in sure]
            if len(left) != 1:
                raise _ask_order(drafts[number], orders)
            fits[number] = left
    for order in sorted(sure):
        files = [d.sheet.file for d, one in zip(drafts, fits, strict=True) if one == [order]]
        known.books.learn(f"Dates were read {order} in {', '.join(files)}.")
        known.books.settle("date_order", order)
    return [orders[0] if orders else "day-first" for orders in fits]


def _fitting(draft: Draft) -> list[str]:
    """Return the orders in which a file's dates can be read; none when no date leaves it open."""
    column = draft.columns.get("time")
    if column is None:
        return []
    dates = _dates(column)
    if pc.all(pc.match_substring_regex(dates.texts, r"^(?:\d{4}[-/.]|$)")).as_py():
        return []
    found = times.parse(dates.texts)
    some = (dates.used() > 0) & (found.first > 0) & (found.second > 0)
    if not some.any():
        return []
    hints = [order_of(draft.units.get(name, "")) for name in ("time", "start", "date")]
    if any(hints):
        return [next(hint for hint in hints if hint)]
    numbers = (found.first[some], found.second[some], found.third[some])
    orders = _possible(*numbers)
    dashes = flags(pc.match_substring_regex(dates.texts, r"^\d\d-\d\d-\d\d\D"))
    if len(orders) > 1 and not dashes[some].any():  # 26-01-31 is usual, 26.01.31 is not
        orders = [order for order in orders if order != "year-first"]
    if len(orders) > 1 and len(_readings(dates, orders)) == 1:  # 05/05: the same either way
        return []
    return orders if len(orders) < 2 else _by_steps(dates, orders)


def _dates(column: TextColumn) -> TextColumn:
    """Return the days of a column as midnights, where all have the form 31.01.2026 23:59:59.

    A year has few days, however many rows.
    """
    days = column.days() if isinstance(column, Joined) else None
    if days is not None:
        return days
    form = r"^\d\d[-./]\d\d[-./]\d{4} \d\d:\d\d:\d\d$"
    for some in (column.texts[:1], column.texts):  # millions of texts only where they may fit
        if not pc.all(pc.match_substring_regex(some, form)).as_py():
            return column
    days = pc.utf8_slice_codeunits(column.texts, 0, 10).unique()
    texts = pc.binary_join_element_wise(days, pa.scalar("00:00:00"), " ")
    return TextColumn(np.arange(len(days), dtype=np.int32), texts)


def _possible(first: np.ndarray, second: np.ndarray, third: np.ndarray) -> list[str]:
    """Return the orders that make dates of (nearly) all numbers."""
    month_second = (second >= 1) & (second <= 12)
    makes = {
        "day-first": (first <= 31) & month_second,
        "month-first": (first <= 12) & (second <= 31),
        "year-first": (third >= 1) & (third <= 31) & month_second,
    }
    some = np.any(list(makes.values()), axis=0)
    if not some.any():
        return []
    wrong = {order: int((some & ~good).sum()) for order, good in makes.items()}
    right = {order: int((some & good).sum()) for order, good in makes.items()}
    return [order for order in times.ORDERS if right[order] > _CLEAR * wrong[order]] or [
        max(right, key=lambda order: right[order])
    ]


def _readings(column: TextColumn, orders: list[str]) -> set[bytes]:
    """Return the different sets of moments that the orders make of a column."""
    return {times.parse(column.texts, order=order).moment.tobytes() for order in orders}


def _by_steps(column: TextColumn, orders: list[str]) -> list[str]:
    """Return the order in which the log goes on from day to day, where the others leap.

    From 3/4 to 4/4 is one day when the day stands first and a month when it stands second; from
    26-01-31 to 26-02-01 is one day when the year stands first and a year when it stands last.
    """
    longest = {}
    for order in orders:
        found = times.parse(column.texts, order=order)
        days = np.sort(pd.unique(found.moment[~found.bad & (column.used() > 0)] // _DAY))
        steps = np.diff(days)
        longest[order] = int(steps.max()) if len(steps) else 0
    near = min(orders, key=lambda order: longest[order])
    far = min(longest[order] for order in orders if order != near)
    daily = 1 <= longest[near] <= 2 and far >= 27
    yearly = 1 <= longest[near] <= 31 and far >= 300
    return [near] if daily or yearly else orders


def _ask_order(draft: Draft, orders: list[str]) -> InputError:
    column = draft.columns["time"]
    found = times.parse(column.texts)
    open_rows = ((found.first > 0) & (found.first != found.second))[column.codes]
    rows = np.flatnonzero(open_rows)
    text = str(column.text(rows[:1])[0])
    at = int(column.codes[rows[0]])
    one, two, three = int(found.first[at]), int(found.second[at]), int(found.third[at])
    ways = {
        "day-first": f"day {one} of month {two}",
        "month-first": f"day {two} of month {one}",
        "year-first": f"day {three} of month {two} of year {one}",
    }
    return InputError(
        f"the date '{text}' can be read as {' or as '.join(ways[o] for o in orders)}, and nothing "
        "in the logs decides.",
        file=draft.sheet.file,
        row=int(draft.sheet.lines[draft.rows[rows[0]]]),
        column=draft.written.get("time", draft.written.get("date", "time")),
        shown=rows_shown(draft, column, rows, {order: _dated(order) for order in orders}),
        mend="Add to site.toml the line "
        + " or ".join(f'date_order = "{order}"' for order in orders)
        + ".",
    )


def _dated(order: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        moment = times.parse(pa.array([text], pa.string()), order=order).moment[0]
        return f"{pd.Timestamp(int(moment), unit='us'):%d %b %Y %H:%M}"

    return read


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
    for mark in sorted(set(seen) - {""}):
        known.books.settle("decimal", mark)
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
    for name in _numeric(draft):
        column = draft.columns[name]
        hit = flags(pc.match_substring_regex(column.texts, cell_numbers.OPEN))[column.codes]
        if hit.any():
            break
    rows = np.flatnonzero(hit)
    text = str(column.text(rows[:1])[0])
    ways: dict[str, Callable[[str], str]] = {
        '","': lambda cell: cell.replace(".", "").replace(",", "."),
        '"."': lambda cell: cell.replace(",", ""),
    }
    both = " or as ".join(way(text) for way in ways.values())
    return InputError(
        f"numbers like '{text}' can be read as {both}, and nothing in the logs decides.",
        file=draft.sheet.file,
        row=int(draft.sheet.lines[draft.rows[rows[0]]]),
        column=draft.written.get(name, name),
        shown=rows_shown(draft, column, rows, {f"decimal = {k}": way for k, way in ways.items()}),
        mend='Add to site.toml the line decimal = "," or decimal = ".".',
    )
