"""Silent failures: every condition on the shelf, in one table."""

from __future__ import annotations

import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.shelf.finder import found
from alarmsift.tables.diagnosis import CONDITION_COLUMNS


def find_conditions(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the conditions found (CONDITION_COLUMNS, times UTC), in order of point and start."""
    parts = []
    for condition in found("alarmsift.conditions", "CONDITION"):
        spans = condition.find(ship, episodes)
        if len(spans):
            parts.append(spans.assign(condition=condition.key))
    if not parts:
        frame = pd.DataFrame(columns=CONDITION_COLUMNS)
        for name in ("start", "end"):
            frame[name] = pd.to_datetime(frame[name], utc=True).astype("datetime64[us, UTC]")
        return frame
    both = pd.concat(parts, ignore_index=True)
    both["start"] = pd.Series(ship.visits.time(both["start"].to_numpy(float))).to_numpy()
    both["end"] = pd.Series(ship.visits.time(both["end"].to_numpy(float))).to_numpy()
    for name in ("start", "end"):
        both[name] = pd.to_datetime(both[name], utc=True).astype("datetime64[us, UTC]")
    return both[CONDITION_COLUMNS].sort_values(
        ["point", "start", "condition"], kind="stable", ignore_index=True
    )
