"""The visits at which the analyser itself said that a line gives too little flow."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.tables.labels import text_of

# Faults of one line this close together are one spell [h] (CP).
FLICKER_HOURS = 6.0
# A fault that nobody cleared stands no longer than this after its last row [h] (CP).
LONGEST_HOURS = 72.0


def fault_stretches(ship: Ship, words: tuple[str, ...]) -> pd.DataFrame:
    """Return ``point`` (index), ``start``, ``end`` [h since origin] of faults by words in the name.

    A fault that is raised again before it is cleared is one.
    """
    visits, events = ship.visits, ship.logs.events
    level = text_of(events["level"]).str.lower()
    named = {t for t in level.unique() if any(word in t for word in words)}
    rows = events[level.isin(named) & (events["event"].astype(str) == "fault")]
    if rows.empty:
        return pd.DataFrame({"point": np.zeros(0, int), "start": np.zeros(0), "end": np.zeros(0)})
    index = {name: code for code, name in enumerate(visits.points)}
    frame = pd.DataFrame(
        {
            "point": rows["point"].astype(str).map(index).to_numpy(float),
            "hours": visits.since(rows["time"]),
            "on": (rows["state"].astype(str) == "raised").to_numpy(),
            "off": rows["state"].astype(str).isin(["cleared", "reset"]).to_numpy(),
        }
    )
    frame = frame[frame["point"].notna() & (frame["on"] | frame["off"])]
    frame = frame.sort_values(["point", "hours"], kind="stable")
    same = frame["point"] == frame["point"].shift()
    begins = frame["on"] & ~(same & frame["on"].shift(fill_value=False))
    group = begins.cumsum()
    frame = frame.assign(group=group)[group > 0]
    spans = frame.groupby("group").agg(
        point=("point", "first"), start=("hours", "first"), last=("hours", "last")
    )
    closed = frame[frame["off"]].groupby("group")["hours"].first()
    following = spans["start"].shift(-1).where(spans["point"] == spans["point"].shift(-1), np.inf)
    end = closed.reindex(spans.index).fillna(np.minimum(following, spans["last"] + LONGEST_HOURS))
    return pd.DataFrame(
        {"point": spans["point"].astype(int), "start": spans["start"], "end": end}
    ).reset_index(drop=True)


def spaces_in_low_flow(ship: Ship, hours: np.ndarray) -> np.ndarray:
    """Tell at which times each space had a low-flow fault at one of its points, shape (h, S).

    Spaces in order of their first point.
    """
    spans = fault_stretches(ship, ("flow",))
    space = spaces_of(ship)
    out = np.zeros((len(hours), int(space.max(initial=-1)) + 1), bool)
    for p in np.unique(spans["point"].to_numpy()):
        mine = spans[spans["point"] == p]
        begun = np.searchsorted(np.sort(mine["start"].to_numpy(float)), hours, "right")
        out[:, space[p]] |= begun > np.searchsorted(np.sort(mine["end"].to_numpy(float)), hours)
    return out


def spaces_of(ship: Ship) -> np.ndarray:
    """Return the number of each point's space, shape (P,); points of one space are kin."""
    first = (ship.kin | np.eye(len(ship.visits.points), dtype=bool)).argmax(axis=1)
    return np.asarray(np.unique(first, return_inverse=True)[1])


def in_low_flow(ship: Ship) -> np.ndarray:
    """Tell for each visit whether its point stood in a low-flow fault of its own, shape (n,)."""
    visits = ship.visits
    out = np.zeros(len(visits), bool)
    spans = fault_stretches(ship, ("flow",))
    spans = spans[~_of_the_pump(ship, spans)]
    start, end = spans["start"].to_numpy(float), spans["end"].to_numpy(float)
    point = spans["point"].to_numpy()
    for p in np.unique(point):
        mine = visits.of(int(p))
        hours, own = visits.hours[mine], point == p
        begun = np.searchsorted(np.sort(start[own]) - 1e-3, hours, "right")
        out[mine] = begun > np.searchsorted(np.sort(end[own]) - 1e-3, hours, "right")
    return out


def _of_the_pump(ship: Ship, spans: pd.DataFrame) -> np.ndarray:
    """Tell which faults stood together with one of another space and ended with it, shape (k,).

    A pump that is mended ends them all in one round, a line that is blown through only its own. In
    between they flicker, each on its own, so the whole spell of a line counts.
    """
    cycle = ship.visits.cycle_hours
    point = spans["point"].to_numpy()
    start, end = spans["start"].to_numpy(float), spans["end"].to_numpy(float)
    apart = np.append(True, (point[1:] != point[:-1]) | (start[1:] - end[:-1] > FLICKER_HOURS))
    apart = apart[: len(spans)]
    spell = np.cumsum(apart) - 1
    first = np.flatnonzero(apart)
    stop = np.maximum.reduceat(end, first) if len(first) else end[:0]
    begin, owner = start[first], point[first]
    foreign = ~ship.kin[owner[:, None], owner[None, :]] & (owner[:, None] != owner[None, :])
    overlap = (begin[:, None] < stop[None, :]) & (begin[None, :] < stop[:, None])
    close = np.abs(stop[:, None] - stop[None, :]) < 1.5 * cycle
    shared = (foreign & overlap & close).any(axis=1)
    return np.asarray(shared[spell])
