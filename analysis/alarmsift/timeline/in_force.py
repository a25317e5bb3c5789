"""The setpoint of each alarm over time, laid out once so that many moments can be asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.timeline.visits import Visits

Key = tuple[str, str, str]  # point, gas, level


@dataclass(frozen=True)
class InForce:
    """What was set at one alarm (point, gas and level) and from when on; k spans.

    Attributes
    ----------
    start : ndarray, shape (k,)
        Ascending [h since origin]; -inf from the first row of the logs on.
    value, deadband : ndarray, shape (k,)
        [unit of the gas]; NaN where none is known.
    inferred : ndarray of bool, shape (k,)
        Seen from the alarms only, written down nowhere.
    falling : bool
        The alarm is raised by low readings.
    """

    start: np.ndarray
    value: np.ndarray
    deadband: np.ndarray
    inferred: np.ndarray
    falling: bool

    def value_at(self, hours: np.ndarray) -> np.ndarray:
        """Return the setpoint at some moments [h since origin], shape as given."""
        return np.asarray(self.value[self._span(hours)])

    def deadband_at(self, hours: np.ndarray) -> np.ndarray:
        """Return the deadband at some moments [h since origin], shape as given; 0 for none."""
        return np.nan_to_num(self.deadband[self._span(hours)])

    def _span(self, hours: np.ndarray) -> np.ndarray:
        return np.maximum(np.searchsorted(self.start, hours, "right") - 1, 0)


def in_force(setpoints: pd.DataFrame, visits: Visits) -> dict[Key, InForce]:
    """Return the setpoint of each alarm, in the order in which they are listed.

    Parameters
    ----------
    setpoints : DataFrame
        SETPOINT_COLUMNS, sorted by start.
    visits : Visits
    """
    start = np.nan_to_num(visits.since(setpoints["start"]), nan=-np.inf)
    value = setpoints["value"].to_numpy(float)
    deadband = setpoints["deadband"].to_numpy(float)
    inferred = (setpoints["source"] == "inferred").to_numpy(bool)
    falling = (setpoints["direction"] == "falling").to_numpy(bool)
    names = [setpoints[name].to_numpy(object) for name in ("point", "gas", "level")]
    number = setpoints.groupby(["point", "gas", "level"], sort=False).ngroup().to_numpy()
    order = np.argsort(number, kind="stable")
    first = np.searchsorted(number[order], np.arange(number.max(initial=-1) + 2))
    spans = [order[a:b] for a, b in zip(first[:-1], first[1:], strict=True)]
    return {
        (names[0][rows[0]], names[1][rows[0]], names[2][rows[0]]): InForce(
            start[rows], value[rows], deadband[rows], inferred[rows], bool(falling[rows].any())
        )
        for rows in spans
    }
