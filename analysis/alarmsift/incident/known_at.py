"""The logs as they stood at a moment, so that hindsight is not mistaken for knowledge."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from alarmsift.tables.clock import ShipClock
from alarmsift.tables.logs import Ledger, Logs
from alarmsift.tables.schema import TABLES, conform


def logs_up_to(logs: Logs, moment: pd.Timestamp) -> Logs:
    """Return the logs with no trace of a row later than ``moment`` (UTC).

    Everything that is learnt of a ship (visits, baselines, shared zero, record of verdicts) is
    worked out from these tables, so nothing later can reach it. The tables of points and of
    setpoints carry no time and stay as exported. How a file is laid out (date order, decimal
    mark, units) was told from the whole file; that is how to read a row, not what it says.
    """
    kept = {name: _up_to(getattr(logs, name), name, moment) for name in TABLES}
    changes = tuple(change for change in logs.clock.changes if change[0] <= moment)
    ledger = Ledger(
        files=logs.ledger.files.iloc[:0],
        rejected=logs.ledger.rejected.iloc[:0],
        conflicts=logs.ledger.conflicts.iloc[:0],
    )
    return replace(logs, **kept, ledger=ledger, clock=ShipClock(logs.clock.zone, changes))


def _up_to(frame: pd.DataFrame, name: str, moment: pd.Timestamp) -> pd.DataFrame:
    if "time" in frame:
        frame = frame[frame["time"] <= moment]
    # Labels that only later rows bear would still stand among the categories, and their order
    # would be that of the whole log.
    plain = {
        column: frame[column].astype(object)
        for column in frame.columns
        if isinstance(frame[column].dtype, pd.CategoricalDtype)
    }
    return conform(frame.assign(**plain), TABLES[name])
