"""Which rows of the operations log are repairs, and what each of them is meant to cure."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from alarmsift.calibration.named import analyser_of
from alarmsift.tables.logs import Logs
from alarmsift.timeline.operations import Operations

# What is worked on: a line (or everything, where no point is named), a detector, a setpoint.
KIND: Final[dict[str, str]] = {
    "purge": "line",
    "drain": "line",
    "maintenance": "line",
    "zero_adjust": "detector",
    "span_adjust": "detector",
    "setpoint": "setpoint",
}
_DRAINED: Final = re.compile(r"(?<!not )(?<!be )\bdrain(?:ed|ing)?\b", re.IGNORECASE)
# Rows on the same thing so near together are one job [h] (common practice, no source).
ONE_JOB_HOURS: Final = 6.0


@dataclass(frozen=True)
class Work:
    """One row.

    Attributes
    ----------
    row : int
        Position in ``logs.operations``.
    hour : float
        [h since origin]
    action : str
        A key of KIND.
    points : frozenset of int
        Indices into ``visits.points``; empty = all.
    name, gas, level, analyser, note : str
        As written; blank = not said.
    """

    row: int
    hour: float
    action: str
    points: frozenset[int]
    name: str
    gas: str
    level: str
    analyser: str
    note: str

    @property
    def kind(self) -> str:
        """Return what is worked on: ``line``, ``detector`` or ``setpoint``."""
        return KIND[self.action]

    def same_target(self, other: Work) -> bool:
        """Tell whether both work on the same thing; work on all points is of its own sort."""
        if self.kind != other.kind or bool(self.points) != bool(other.points):
            return False
        if self.points and not self.points & other.points:
            return False
        if self.kind == "line":
            return True
        return (self.gas, self.analyser) == (other.gas, other.analyser) and (
            self.kind == "detector" or self.level == other.level
        )

    def touches(self, other: Work) -> bool:
        """Tell whether the other can change the alarms that this one is judged by."""
        where = not self.points or not other.points or bool(self.points & other.points)
        return where and (not self.gas or not other.gas or self.gas == other.gas)


@dataclass(frozen=True)
class Job:
    """One row with the rows on the same thing around it: from ``start`` to ``end`` [h]."""

    work: Work
    start: float
    end: float
    before: float  # end of the last job on the same thing, -inf where there is none [h]
    after: float  # start of the next one, inf where there is none [h]


def jobs_of(logs: Logs, operations: Operations) -> list[Job]:
    """Return every repair of the log in order of time."""
    works = _works(logs, operations)
    out = []
    for work in works:  # some hundreds a year
        hours = np.array([one.hour for one in works if one.same_target(work)])
        job = np.cumsum(np.diff(hours, prepend=hours[0]) > ONE_JOB_HOURS)
        mine = job == job[np.searchsorted(hours, work.hour)]
        earlier, later = hours[hours < hours[mine][0]], hours[hours > hours[mine][-1]]
        out.append(
            Job(
                work,
                float(hours[mine][0]),
                float(hours[mine][-1]),
                float(earlier[-1]) if len(earlier) else -np.inf,
                float(later[0]) if len(later) else np.inf,
            )
        )
    return out


def _works(logs: Logs, operations: Operations) -> list[Work]:
    rows = operations.of(*[name for name in KIND if name != "drain"], "note")
    if rows.empty:
        return []
    ops = logs.operations.iloc[rows["position"].to_numpy("int64")].reset_index(drop=True)
    text = {name: _text(ops[name]) for name in ("point", "gas", "level", "note")}
    rows = rows.assign(**text, analyser=analyser_of(ops["note"]))
    drained = (rows["action"] == "note") & rows["note"].str.contains(_DRAINED)
    rows["action"] = rows["action"].astype(object).mask(drained, "drain")
    rows["code"] = operations.of(*[name for name in KIND if name != "drain"], "note")["point"]
    rows = rows[rows["action"] != "note"]
    out = []
    for row, part in rows.groupby("position", sort=False):
        first = part.iloc[0]
        out.append(
            Work(
                row=int(str(row)),
                hour=float(first["hours"]),
                action=str(first["action"]),
                points=frozenset(int(code) for code in part["code"] if code >= 0),
                name=str(first["point"]),
                gas=str(first["gas"]),
                level=str(first["level"]).lower(),
                analyser=str(first["analyser"]),
                note=str(first["note"]),
            )
        )
    return sorted(out, key=lambda work: (work.hour, work.row))


def _text(column: pd.Series) -> np.ndarray:
    return column.astype(object).fillna("").astype(str).str.strip().to_numpy(object)
