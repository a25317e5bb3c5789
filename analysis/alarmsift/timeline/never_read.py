"""Points that the points table names and that no reading ever came from."""

from __future__ import annotations

import numpy as np

from alarmsift.tables.logs import Logs
from alarmsift.timeline.visits import Visits

# Where fewer of the table's names than this are in the readings, the two name points otherwise.
SAME_NAMES = 0.5


def never_read(logs: Logs, visits: Visits) -> list[str]:
    """Return the names of points without any reading, in the order of the points table."""
    names = list(dict.fromkeys(logs.points["point"].dropna().astype(str)))
    missing = [name for name in names if name not in visits.points]
    known = len(names) - len(missing)
    return missing if len(visits) and known >= SAME_NAMES * len(names) else []


def whole_span(visits: Visits) -> tuple[float, float]:
    """Return the first and the last hour of the readings."""
    return float(np.min(visits.hours)), float(np.max(visits.hours))
