"""Readings without a number: while a detector stands in fault, what is shown is no reading.

Some analysers mark such readings, others go on writing nought, or the last number, as if nothing
were amiss; then only the fault in the alarm list tells. A number that goes on moving comes from a
detector that lives: the fault row need not say which of the detectors it is about.
"""

from __future__ import annotations

import numpy as np

from alarmsift.tables.labels import text_of
from alarmsift.tables.logs import Logs
from alarmsift.timeline.visits import Visits

WORDS = "detector|sensor|cell"
# Fewer readings than this stand still by chance (common practice, no source).
LEAST = 5
# Rows may be rounded to the minute [h].
MINUTE = 1.0 / 60.0


def unread(logs: Logs, visits: Visits) -> np.ndarray:
    """Tell for each visit whether a detector's fault left it without any reading, shape (n,)."""
    out = np.zeros(len(visits), bool)
    events = logs.events
    level = text_of(events["level"]).str.lower()
    rows = events[(events["event"] == "fault") & level.str.contains(WORDS).to_numpy(bool)]
    if not len(rows) or not len(visits):
        return out
    owner = dict(zip(visits.point.tolist(), visits.analyser.tolist(), strict=True))
    codes = {name: owner[code] for code, name in enumerate(visits.points) if code in owner}
    code = rows["point"].astype(str).map(codes).fillna(-1).to_numpy("int64")
    hours, gas = visits.since(rows["time"]), rows["gas"].astype(object).fillna("").to_numpy(object)
    on = (rows["state"] == "raised").to_numpy(bool)
    off = rows["state"].isin(["cleared", "reset"]).to_numpy(bool)
    for i in np.flatnonzero(on):  # a few a voyage
        ended = hours[off & (code == code[i]) & (gas == gas[i]) & (hours > hours[i])]
        until = ended.min(initial=np.inf)
        inside = (visits.hours >= hours[i]) & (visits.hours < until)
        inside &= visits.analyser == code[i]
        sure = (visits.hours > hours[i] + MINUTE) & (visits.hours < until - MINUTE)
        if _still(visits, inside & sure, str(gas[i])):
            out |= inside
    return out


def _still(visits: Visits, inside: np.ndarray, gas: str) -> bool:
    """Tell whether no gas that lives or that the fault is not about shows anything inside."""
    for name in visits.gases:
        value = visits.value[name][inside]
        value = value[np.isfinite(value)]
        alive = bool(gas) and name != gas and len(value) > 0
        if alive or (len(value) and (len(value) < LEAST or np.ptp(value) > 0.0)):
            return False
    return True
