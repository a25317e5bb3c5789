"""A date and a time of day from two columns as one column of times.

A year has few dates and a day few times, but nearly every row has its own pair. So the pairs are
made texts only where somebody asks for them, and times are read from the parts.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from alarmsift.reading import times
from alarmsift.reading.sheet import TextColumn, flags, join

_DATE = r"^(?:\d\d[-./]\d\d[-./]\d{4}|\d{4}-\d\d-\d\d)$"
_CLOCK = r"^\d\d:\d\d:\d\d$"
_ANY_DAY, _MIDNIGHT = "2000-01-01", "00:00:00"


class Joined(TextColumn):
    """Two columns as one, with a space between.

    Attributes
    ----------
    date, clock : TextColumn, each shape (n,)
    """

    date: TextColumn
    clock: TextColumn

    def __init__(self, date: TextColumn, clock: TextColumn) -> None:
        object.__setattr__(self, "date", date)
        object.__setattr__(self, "clock", clock)

    @cached_property
    def _whole(self) -> TextColumn:
        return join(self.date, self.clock)

    @property
    def codes(self) -> np.ndarray:
        """Return the index into ``texts`` of each row's cell, shape (n,)."""
        return self._whole.codes

    @property
    def texts(self) -> pa.Array:
        """Return the distinct texts, shape (m,)."""
        return self._whole.texts

    def at(self, rows: np.ndarray) -> Joined:
        """Return the column of the chosen rows, shape (k,), in that order."""
        return Joined(self.date.at(rows), self.clock.at(rows))

    def text(self, rows: np.ndarray) -> np.ndarray:
        """Return the cells of the chosen rows as an array of str, shape (k,)."""
        some = join(self.date.at(rows), self.clock.at(rows))
        return some.text(np.arange(len(rows)))

    def blank_rows(self) -> np.ndarray:
        """Return the rows that are blank, in order."""
        return np.intersect1d(self.date.blank_rows(), self.clock.blank_rows())

    def odd_rows(self) -> np.ndarray:
        """Return the rows whose date or time of day is not of the usual form, in order."""
        odd = [~flags(pc.match_substring_regex(part.texts, form))
               for part, form in ((self.date, _DATE), (self.clock, _CLOCK))]  # fmt: skip
        return np.union1d(self.date.rows(odd[0]), self.clock.rows(odd[1]))

    def days(self) -> TextColumn | None:
        """Return the distinct days as midnights; None when some row has another form."""
        if len(self.odd_rows()):
            return None
        dates = self.date.texts.filter(pa.array(self.date.used() > 0)).unique()
        days = pc.binary_join_element_wise(dates, _MIDNIGHT, " ")
        return TextColumn(np.arange(len(days), dtype=np.int32), days)


@dataclass(frozen=True)
class RowTimes:
    """The times of the rows of one column.

    Attributes
    ----------
    moment, aware : array, shape (n,)
        As in :class:`alarmsift.reading.times.Times`.
    bad : array of int64
        Rows that hold no time, in order.
    minutes_only : bool
    """

    moment: np.ndarray
    aware: np.ndarray
    bad: np.ndarray
    minutes_only: bool


def row_times(column: TextColumn, order: str) -> RowTimes:
    """Return the times of a column's rows.

    Parameters
    ----------
    column : TextColumn, shape (n,)
    order : str
        As for :func:`alarmsift.reading.times.parse`.
    """
    if isinstance(column, Joined):
        odd = column.odd_rows()
        if 2 * len(odd) < len(column.date.codes):
            return _by_parts(column, order, odd)
    found = times.parse(column.texts, order=order)
    return RowTimes(
        found.moment[column.codes],
        found.aware[column.codes],
        column.rows(found.bad),
        found.minutes_only,
    )


def _by_parts(column: Joined, order: str, odd: np.ndarray) -> RowTimes:
    """Return the times of rows of which all but the odd ones have the usual form."""
    date, clock = column.date, column.clock
    days = times.parse(pc.binary_join_element_wise(date.texts, _MIDNIGHT, " "), order=order)
    day_0 = times.parse(pa.array([f"{_ANY_DAY} {_MIDNIGHT}"], pa.string())).moment[0]
    hours = times.parse(pc.binary_join_element_wise(_ANY_DAY, clock.texts, " "))
    moment = days.moment[date.codes]
    moment += (hours.moment - day_0)[clock.codes]
    aware = np.zeros(len(moment), dtype=bool)
    bad = np.setdiff1d(np.union1d(date.rows(days.bad), clock.rows(hours.bad)), odd)
    if len(odd):
        one = row_times(join(date.at(odd), clock.at(odd)), order)
        moment[odd], aware[odd] = one.moment, one.aware
        bad = np.union1d(bad, odd[one.bad])
    return RowTimes(moment, aware, bad, minutes_only=False)
