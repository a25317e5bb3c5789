"""New level: is the steady level older than the logs, or did it come within them?

A harmless background has always been there; a level that came up within the logs and stayed is a
slow leak until shown otherwise.

Columns: readings over several days. Measure: how much the point's slow level rose above its
long-run level, as a share of the reading. Clearly present from 0.45, clearly absent to 0.15,
undecided between; no data where there is no reading. Fooled by fresh coating, whose solvent also
comes and stays. Source: common practice.
"""

import numpy as np

from alarmsift.evidence.sign import Sign, SignReading, Weight, graded
from alarmsift.evidence.windows import Windows


def read(w: Windows) -> SignReading:
    """Return the risen share of the slow level."""
    at = w.visit[:, w.at]
    slow = np.full(len(w), np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        slow[mine] = np.append(w.ship.slow[gas], np.nan)[at[mine]]
    turn = np.where(w.rising, 1.0, -1.0)
    nominal = np.where(w.gas == "O2", 20.9, 0.0)
    total = np.maximum(turn * (w.value - nominal), 1e-9)
    measure = turn * slow / total
    return SignReading(graded(measure, absent=0.15, present=0.45), measure)


SIGN = Sign(
    key="new_level",
    title="A level that came within the logs",
    needs=("readings",),
    family="budget",
    unit="share",
    applies="alarm",
    read=read,
    weights=(Weight("gas", 3, 0, "a level that came and stayed may be a slow leak"),),
    present="{m:.0%} of the reading is a level that came up within these logs",
    absent="the point's steady level did not rise within these logs",
)
