"""The lowest HC setpoint of each point, beside a published ceiling."""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.evidence.rule import Ruling, counted, met, not_decidable, not_met
from alarmsift.evidence.ship import Ship
from alarmsift.timeline.kinds import kinds_of

SEEN = "inferred"  # from the alarms only


def lowest_setpoints(ship: Ship, *, pump_rooms: bool) -> pd.DataFrame:
    """Return the lowest level of HC at each point in pump-rooms, or at each other point.

    Returns
    -------
    DataFrame
        ``point``; ``value`` [%LFL], the most that the lowest level was ever set to, NaN when it is
        not written down.
    """
    points = ship.visits.points
    kind = kinds_of(points, ship.logs.points)
    mine = (kind == "pump_room") if pump_rooms else ~np.isin(kind, ["pump_room", "cabinet"])
    if ship.reference is not None:
        mine[ship.reference] = False
    names = [name for name, own in zip(points, mine, strict=True) if own]
    rows = ship.setpoints
    rows = rows[(rows["gas"] == "HC") & (rows["source"] != SEEN) & (rows["direction"] != "falling")]
    most = rows.groupby(["point", "level"])["value"].max()
    lowest = most.groupby("point").min().reindex(names)
    return pd.DataFrame({"point": names, "value": lowest.to_numpy(float)})


def under_ceiling(lowest: pd.DataFrame, ceiling: float, *, nowhere: str) -> Ruling:
    """Return whether every lowest setpoint lies at the ceiling or under it [%LFL]."""
    over = lowest[lowest["value"] > ceiling]
    unknown = int(lowest["value"].isna().sum())
    if len(over):
        return not_met(
            over["point"],
            f"The lowest HC alarm is set over {ceiling:g} %LFL, at up to "
            f"{over['value'].max():g} %LFL.",
        )
    if not len(lowest):
        return not_decidable(f"Not to be told: {nowhere}.")
    if unknown:
        return not_decidable(
            f"No HC setpoint is written down for {counted(unknown, 'point')}; one that was only "
            "read off the alarms doesn't count here."
        )
    return met(
        f"The lowest HC alarm is set at {lowest['value'].max():g} %LFL at most, at "
        f"{counted(len(lowest), 'point')}."
    )
