"""Air leak: air enters the line behind the probe, and every reading is diluted.

The leak adds flow at the same suction, so the line looks better than clean: counted from 15 % air.
How much better depends on where the joint is: near the analyser the conductance is 1/0.85 of the
clean one, near the probe it stays as it was and nothing shows here.
"""

import numpy as np
import pandas as pd

from alarmsift.evidence.blocks import rolling_median
from alarmsift.evidence.condition import Condition, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import running_median, spans_where

# 15 % air at a joint in the middle of the line: half of 1/0.85.
LEAK_LOG = float(-np.log(0.85)) / 2.0
# With one of flow and suction logged, the pump takes up part of the change (CP).
PART_LOG = 0.06
# A joint leaks for days; shorter spells are the pump's or the sea's (CP) [h].
SHORTEST, CLOSE, SMOOTH = 24.0, 72.0, 14.0
# Where all lines have moved this far, what is left over for one is not sure (ln conductance).
SHARED_LIMIT = 0.15
CROWD = 0.2


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans with too good a line."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    line = ship.line
    if line.columns == "none":
        return found(rows)
    both = line.columns == "flow and suction"
    blocks = line.blocks
    width = max(int(round(SMOOTH / blocks.width)) | 1, 3)
    tall = rolling_median(blocks.median, width)
    good_lines = np.isfinite(tall)
    # Many lines better than clean at once: then the pump's share is off, and no joint leaks.
    crowd = ((tall > PART_LOG) & good_lines).sum(axis=1) > np.maximum(
        CROWD * good_lines.sum(axis=1), 2
    )
    for p, name in enumerate(ship.visits.points):
        usable = (np.abs(line.shared_blocks[:, p]) < SHARED_LIMIT) & ~crowd
        series = np.where(usable, blocks.median[:, p], np.nan)
        good = np.isfinite(series)
        if good.sum() < 2 * width or p == ship.reference:
            continue
        hours = blocks.hours[good] - blocks.width / 2
        smooth = running_median(series[good], width)
        spread = 1.4826 * float(np.median(np.abs(series[good] - smooth)))
        margin = max(LEAK_LOG if both else PART_LOG, 3.0 * spread, 1.5 * float(line.noise[p]))
        for start, end in spans_where(hours, smooth >= margin, close=CLOSE, shortest=SHORTEST):
            inside = (hours >= start) & (hours < end)
            if np.median(smooth[inside]) < margin:
                continue
            air = 1.0 - np.exp(-float(np.median(smooth[inside])))
            rows.append(
                (
                    name,
                    start,
                    end,
                    0.9 if air > 0.15 else 0.7,
                    "more flow than the line's clean resistance allows: at least "
                    f"{air:.0%} of what is drawn is air from a leak, {hours_text(start, end)}; "
                    "readings are too low by that share or more",
                    "Close the line at the far end: flow must stop; look for the joint that leaks.",
                )
            )
    return found(rows)


CONDITION = Condition("air_leak", "Air leaking into the line", find)
