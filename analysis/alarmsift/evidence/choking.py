"""What a choked line still brings, and when the low-flow alarm will come if it chokes on."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.stats import theilslopes

from alarmsift.evidence.low_flow_faults import fault_stretches
from alarmsift.evidence.poor_line import PoorSpan
from alarmsift.evidence.ship import Ship
from alarmsift.physics.line import line_volume

# Visits at the end of a span that say how it is now.
LATEST = 12
WORST = 0.125  # middle of the worst quarter [-]
# Raises from which the ship's low-flow limit is learnt, and how far apart the higher half of them
# may lie, as a share of the limit (CP).
RAISES, APART = 3, 0.25
# A forecast is given up to this far ahead, from a growth seen for at least this long, and only
# while its latest time is at most this many times its earliest [h, h, -] (CP).
AHEAD, SEEN, WIDEST = 60 * 24.0, 12.0, 4.0
LIMIT_DOUBT = 0.05  # of the limit, learnt from flows that had passed it [-] (CP)
LITRES = 1000.0  # [L/m3]


def flow_left(ship: Ship, span: PoorSpan) -> float | None:
    """Return the share of the clean flow that is left [-]; None where flow is not logged.

    At the end of the logs for a span that is still open, else in its worst quarter.
    """
    return _left(span, ship.line.flow_share[_rows(ship, span)])


def _left(span: PoorSpan, flow: np.ndarray) -> float | None:
    flow = flow[np.isfinite(flow)]
    if not len(flow):
        return None
    open_now = not np.isfinite(span.end)
    return float(np.median(flow[-LATEST:]) if open_now else np.quantile(flow, WORST))


def fresh_share(ship: Ship, span: PoorSpan) -> float | None:
    """Return how much of what is drawn in a visit has come from the space in that visit [-].

    The air that stood in the line comes first: 1 - volume / (flow x dwell), nought when the dwell
    ends before the line is drawn through. None where flow, length or bore is not known. On a ship
    that keeps its lines primed by a by-pass pump more comes through.
    """
    name = ship.visits.points[span.point]
    about = ship.logs.points[ship.logs.points["point"].astype(str) == name]
    rows = _rows(ship, span)
    flow = _left(span, ship.visits.flow[rows])
    if not len(about) or flow is None:
        return None
    length, bore = float(about["length_m"].iloc[0]), float(about["bore_mm"].iloc[0])
    if not (length > 0 and bore > 0):
        return None
    volume = float(line_volume(np.array(length), np.array(bore / 1000.0))) * LITRES
    drawn = flow * dwell_minutes(ship, span.point)
    return max(0.0, 1.0 - volume / drawn) if drawn > 0 else 0.0


def dwell_minutes(ship: Ship, point: int) -> float:
    """Return how long the analyser of a point stays at a point, as a rule [min]."""
    visits = ship.visits
    mine = visits.of(point)
    code = visits.analyser[mine[0]]
    hours = visits.hours[(visits.analyser == code) & visits.drawn]
    step = np.diff(hours)
    step = step[step > 0]
    return float(np.median(step)) * 60.0 if len(step) else 0.0


@lru_cache(maxsize=4)
def low_flow_limit(ship: Ship) -> float | None:
    """Return the flow at which this ship's low-flow alarm comes [L/min], by its own alarms."""
    visits = ship.visits
    spans = fault_stretches(ship, ("flow",))
    shown = []
    for p, start in zip(spans["point"], spans["start"], strict=True):  # alarms, not readings
        mine = visits.of(int(p))
        at = int(np.searchsorted(visits.hours[mine], start + 0.5 * visits.cycle_hours, "right")) - 1
        if at >= 0 and start - visits.hours[mine[at]] < 0.6 * visits.cycle_hours:
            shown.append(float(visits.flow[mine[at]]))
    flow = np.sort(np.array(shown)[np.isfinite(shown)])
    if len(flow) < RAISES:
        return None
    # A flow that falls slowly raises just under the limit; one that breaks off, anywhere below.
    upper = flow[len(flow) // 2 :]
    limit = float(np.quantile(flow, 0.9))
    return limit if limit > 0 and limit - upper[0] <= APART * limit else None


def alarm_ahead(ship: Ship, span: PoorSpan) -> tuple[float, float] | None:
    """Return from when to when the low-flow alarm is to be expected [h after the last reading].

    The slope of ln(flow) over the span (Theil and Sen; Sen 1968, 95 % interval) is drawn on to the
    limit. None where the span is over, the limit or the flow is not known, the alarm has come, or
    the growth is not certain.
    """
    limit = None if np.isfinite(span.end) else low_flow_limit(ship)
    rows = _rows(ship, span)
    flow = ship.visits.flow[rows]
    good = np.isfinite(flow) & (flow > 0)
    hours, flow = ship.visits.hours[rows][good], flow[good]
    if limit is None or len(hours) < 2 * LATEST:
        return None
    late = hours >= hours[0] + (hours[-1] - hours[0]) / 2.0
    step = max(int(late.sum()) // 200, 1)
    course, at = np.log(flow[late][::step]), hours[late][::step] - hours[-1]
    slope, now, low, high = theilslopes(course, at, 0.95)
    if now <= np.log(limit) or hours[-1] - hours[0] < SEEN or high >= 0:
        return None
    spread = 1.4826 * float(np.median(np.abs(course - now - slope * at)))
    doubt = 2.0 * spread / np.sqrt(LATEST) + LIMIT_DOUBT
    way = float(now - np.log(limit))
    first, last = max(way - doubt, 0.0) / -low, (way + doubt) / -high
    return (first, last) if first < AHEAD and last <= max(WIDEST * first, SEEN) else None


def _rows(ship: Ship, span: PoorSpan) -> np.ndarray:
    visits = ship.visits
    mine = visits.of(span.point)
    inside = (visits.hours[mine] >= span.start) & (visits.hours[mine] <= span.end)
    return mine[inside & visits.drawn[mine]]
