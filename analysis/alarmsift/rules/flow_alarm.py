"""Does a line that loses its flow raise an alarm?

A low-flow alarm of a line under water is what the rule asks for, and no defect.
"""

import numpy as np

from alarmsift.evidence.rule import Kept, Rule, Ruling, counted, met, not_decidable, not_met
from alarmsift.tables.labels import text_of

LOST = 0.2  # of a line's clean flow: whatever the limit of the alarm is, this is under it (CP)
VISITS = 4  # in a row, so that no delay of the alarm explains its silence (CP)


def check(kept: Kept) -> Ruling:
    """Return whether every loss of flow came with a fault alarm of that point."""
    ship, visits = kept.ship, kept.ship.visits
    if not len(ship.logs.events):
        return not_decidable("The logs hold no alarm list.")
    faults = kept.episodes[kept.episodes["kind"] == "fault"]
    low = faults[text_of(faults["level"]).str.contains("flow|trap|water")]
    raised, cleared = visits.since(low["raised"]), visits.since(low["cleared"])
    cleared = np.nan_to_num(cleared, nan=np.inf)
    silent, told = [], 0
    for p, name in enumerate(visits.points):
        mine = visits.of(p)
        mine = mine[np.isfinite(ship.line.flow_share[mine])]
        own = (low["point"] == name).to_numpy(bool)
        for start, end in _lost(visits.hours[mine], ship.line.flow_share[mine]):
            if ((raised[own] <= end) & (cleared[own] >= start - visits.cycle_hours)).any():
                told += 1
            else:
                silent.append(name)
    if silent:
        return not_met(
            silent, f"{counted(len(silent), 'loss', 'losses')} of flow raised no fault alarm."
        )
    if told or len(low):
        what = "low-flow or water alarm"
        return met(f"{counted(len(low), what)} in the logs, and no loss of flow without one.")
    return not_decidable("No line lost its flow in these logs, or the flow is not logged.")


def _lost(hours: np.ndarray, share: np.ndarray) -> list[tuple[float, float]]:
    """Return the stretches of enough visits in a row with hardly any flow."""
    edge = np.flatnonzero(np.diff(np.concatenate([[0], (share < LOST).astype(int), [0]])))
    spans = zip(edge[::2], edge[1::2], strict=True)
    return [(float(hours[a]), float(hours[b - 1])) for a, b in spans if b - a >= VISITS]


RULE = Rule(
    key="flow_alarm",
    title="Low or no flow in a line raises an alarm",
    source="IMO MSC.1/Circ.1370, 3.2.1",
    check=check,
)
