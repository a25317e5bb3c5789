"""Low flow everywhere: the pump or the common filter takes flow from all points.

Counted under 75 % of the clean flow at all points: even the best lines get less.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.low_flow_faults import (
    fault_stretches,
    spaces_in_low_flow,
    spaces_of,
)
from alarmsift.evidence.shared_flow import best_share
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import spans_where

LIMIT = 0.75
CLOSE_HOURS, SHORTEST_HOURS = 12.0, 3.0
# Where only alarms tell: so many spaces at once, and this share of those that are drawn within so
# many hours, have it from what they share (CP).
SPACES, ALARMED_SHARE, DRAWN_HOURS = 3, 0.5, 12.0


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which all lines of an analyser were low."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    blocks, share = best_share(ship)
    if blocks is None:
        return found(_by_alarms(ship))
    hours = blocks.hours - blocks.width / 2.0
    names = ship.visits.analysers
    low = np.asarray(share < LIMIT)
    spans = spans_where(hours, np.any(low, axis=1), close=CLOSE_HOURS, shortest=SHORTEST_HOURS)
    for start, end in spans:
        inside = (hours >= start) & (hours < end)
        weak = [n for n, a in zip(names, low[inside].any(axis=0), strict=True) if a]
        whose = f" of {' and '.join(weak)}" if len(names) > 1 else ""
        shown = "flow" if "flow" in ship.line.columns else "suction, and with it flow,"
        rows.append(
            (
                "analyser",
                start,
                end,
                0.95,
                f"{shown} at all points{whose} together was down to "
                f"{np.nanmin(share[inside]):.0%} of clean, {hours_text(start, end)}",
                "Look at the common filter, then at the pump.",
            )
        )
    return found(rows)


def _by_alarms(ship: Ship) -> list[tuple[str, float, float, float, str, str]]:
    """Return the spans where neither flow nor suction is logged: many spaces alarm together."""
    faults = fault_stretches(ship, ("flow",))
    edges = np.unique(faults[["start", "end"]].to_numpy(float))
    if not len(edges):
        return []
    space, turn = spaces_of(ship), ship.visits
    low = spaces_in_low_flow(ship, edges + 1e-6)
    near = np.zeros(low.shape, bool)  # spaces that are drawn at all about that time
    for p in range(len(turn.points)):
        hours = turn.hours[turn.of(p)][turn.drawn[turn.of(p)]]
        at = np.searchsorted(hours, edges)
        gap = np.abs(np.append(hours, np.inf)[at] - edges)
        gap = np.minimum(gap, np.abs(edges - np.append(-np.inf, hours)[at]))
        near[:, space[p]] |= gap < DRAWN_HOURS
    many = low.sum(axis=1) >= np.maximum(SPACES, ALARMED_SHARE * (near | low).sum(axis=1))
    rows = []
    for start, end in spans_where(edges, many, close=CLOSE_HOURS, shortest=0.0):
        part = faults[(faults["start"] <= min(end, edges[-1])) & (faults["end"] >= start)]
        first, last = float(part["start"].min()), float(part["end"].max())
        if last - first < SHORTEST_HOURS:
            continue
        count = int(low[(edges >= start) & (edges <= end)].sum(axis=1).max())
        rows.append(
            (
                "analyser",
                first,
                np.inf if last >= turn.hours[-1] else last,
                0.9,
                f"low-flow alarms of {count} spaces stood together, {hours_text(first, last)}; "
                "neither flow nor suction is logged",
                "Look at the common filter, then at the pump.",
            )
        )
    return rows


CONDITION = Condition("low_flow_all", "Low flow at all points", find)
