"""Zero drift: a detector's zero is off by 3 %LFL or 1.5 ppm or more, up or down.

A negative zero hides gas. Needs three points or more, or zero checks. A zero that swings past the
limit at some time of every day is one condition. What goes back by itself within a day and a half
is no zero: wet optics and vapour do.
"""

import numpy as np
import pandas as pd

from alarmsift.calibration.drift import crossing_day, drift
from alarmsift.calibration.tolerance import zero_tolerance
from alarmsift.evidence.condition import Condition, detector_name, found, hours_text
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.spans import spans_where
from alarmsift.evidence.zero_course import ZeroCourse, zero_checks, zero_course

# Past the limit once a day is past it; a shorter spell in all is none [h].
CLOSE_HOURS, SHORTEST_HOURS = 24.0, 12.0
# A zero comes back by an adjustment; wet optics and vapour go by themselves, and sooner [h] (CP).
PASSING_HOURS, BESIDE_HOURS = 60.0, 4.0
# A zero that made this share of its way within half a day stepped (CP).
AT_ONCE, AT_ONCE_HOURS = 0.6, 12.0
# A display that lies still for so long does it for its zero [h] (CP).
STILL_HOURS, STILL_SURE = 48.0, 0.6
# Under this share of the limit the zero was still right (CP).
RIGHT = 0.25


def find(ship: Ship, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return the spans in which a zero was off."""
    rows: list[tuple[str, float, float, float, str, str]] = []
    for (gas, analyser), model in ship.zeros.items():
        limit = zero_tolerance(gas, ship.logs.site)
        if not np.isfinite(limit) or not model.anchored:
            continue
        course = zero_course(ship, gas, analyser)
        checks = zero_checks(ship, gas, analyser)
        low = _found_low(course, checks, limit)
        flag = np.abs(course.zero) >= limit
        for start, end, _ in low:
            flag |= (course.hours >= start) & (course.hours < end)
        name = detector_name(ship, gas, analyser)
        past = spans_where(course.hours, flag, close=CLOSE_HOURS, shortest=0.0)
        spans = [(float(a), float(b)) for a, b in past if _counts(course, a, b, low)]
        rows += [_row(ship, name, course, span, low, limit) for span in spans]
        for a, b in _still(course, checks, limit):
            if not any(a < d + CLOSE_HOURS and b > c - CLOSE_HOURS for c, d in spans):
                rows.append(_still_row(name, (a, b)))
    return found(rows)


def _counts(
    course: ZeroCourse, start: float, end: float, low: list[tuple[float, float, float]]
) -> bool:
    """Tell whether a span is a zero's and long enough."""
    length = min(end, float(course.hours[-1]) + course.width) - start
    if length < SHORTEST_HOURS or length >= PASSING_HOURS or np.isinf(end):
        return length >= SHORTEST_HOURS
    adjusted = np.abs(course.resets - end) <= BESIDE_HOURS + course.width
    return bool(adjusted.any() or any(a <= end and b >= start for a, b, _ in low))


def _found_low(
    course: ZeroCourse, checks: pd.DataFrame, limit: float
) -> list[tuple[float, float, float]]:
    """Return start, end and value of zeros under the limit that only a check could find.

    The start lies between the last time at which the zero was known to be right and the check.
    """
    if not course.hidden or not len(checks):
        return []
    hours, shown = checks["hours"].to_numpy(float), checks["found"].to_numpy(float)
    out = []
    for i in np.flatnonzero(shown <= -limit):  # a check a month
        moved = course.hours[course.alive & (course.hours < hours[i] - course.width)] + course.width
        right = np.flatnonzero(~(shown[:i] <= -limit) & (hours[:i] < hours[i] - course.width))
        since, then = (hours[right[-1]], min(shown[right[-1]], 0.0)) if len(right) else (0.0, 0.0)
        if len(moved) and moved[-1] > since:
            since, then = moved[-1], 0.0
        # On a straight line from where it was known to be.
        start = since + (limit + then) / (then - shown[i]) * (hours[i] - since)
        after = hours[i:][~(shown[i:] <= -limit)]
        again = course.hours[course.alive & (course.hours > hours[i])]
        end = min(after[0] if len(after) else np.inf, again[0] if len(again) else np.inf)
        out.append((float(start), float(end), float(shown[i])))
    return out


def _still(course: ZeroCourse, checks: pd.DataFrame, limit: float) -> list[tuple[float, float]]:
    """Return when a display that usually moves lay still at nought: the zero is under it.

    How far under, nobody knows but a check: where one found it near, there is no such span.
    """
    found_small = checks["found"].gt(-limit) & ~checks["left"].astype(bool)
    told = checks["hours"][found_small].to_numpy(float)
    spans = spans_where(course.hours, course.dead, close=CLOSE_HOURS / 2, shortest=STILL_HOURS)
    return [
        (float(start), float(end))
        for start, end in spans
        if not ((told > start + course.width) & (told < end + course.width)).any()
    ]


def _row(
    ship: Ship,
    name: str,
    course: ZeroCourse,
    span: tuple[float, float],
    low: list[tuple[float, float, float]],
    limit: float,
) -> tuple[str, float, float, float, str, str]:
    start, end = span
    inside = (course.hours >= start) & (course.hours < end)
    checked = [value for a, b, value in low if a < end and b > start]
    values = np.concatenate([course.zero[inside], checked])
    up, down = float(np.max(values)), float(np.min(values))
    gas = name.split()[1]
    words = [f"up to {up:.1f} too high"] if up >= limit else []
    words += [f"up to {-down:.1f} too low: it hides gas"] if -down >= limit else []
    how = (
        "a zero check found it: the display shows nothing under nought"
        if checked and np.max(np.abs(course.zero[inside])) < limit
        else _rate(ship, course, span, limit)
    )
    top = max(up, -down)
    return (
        name,
        start,
        end,
        float(np.clip(0.5 + (top - limit) / limit, 0.5, 0.99)),
        f"the zero of the {gas} detector was {' and '.join(words)}, {hours_text(start, end)}"
        + (f"; {how}" if how else ""),
        "Check the zero on clean air, write down the value as found, adjust.",
    )


def _still_row(name: str, span: tuple[float, float]) -> tuple[str, float, float, float, str, str]:
    return (
        name,
        *span,
        STILL_SURE,
        "the display lay still at nought at every point though it usually moves: the zero is under "
        f"it, nobody can say how far, and gas is hidden by as much, {hours_text(*span)}",
        "Check the zero on clean air and the span with test gas, adjust.",
    )


def _rate(ship: Ship, course: ZeroCourse, span: tuple[float, float], limit: float) -> str:
    """Return how fast the zero moved when it passed the limit, and when it passed it, in words."""
    start = span[0]
    first = int(np.searchsorted(course.hours, start))
    reach = max(int(round(AT_ONCE_HOURS / course.width / 2.0)), 1)
    before = course.zero[max(first - reach, 0)]
    after = course.zero[min(first + reach, len(course.zero) - 1)]
    clock = ship.logs.clock
    if first and abs(after - before) >= AT_ONCE * max(abs(float(after)), limit):
        return f"it passed {limit:g} at once, on {clock.show(ship.visits.time(start)[0])}"
    # The way it went: from where it was last right to where it was worst, between adjustments.
    last = np.append(course.resets[course.resets > start], span[1]).min()
    here = np.flatnonzero((course.hours >= start) & (course.hours < last))
    right = np.flatnonzero(np.abs(course.zero[: first + 1]) < RIGHT * limit)
    worst = here[np.argmax(np.abs(course.zero[here]))] if len(here) else first
    used = slice(right[-1] if len(right) else 0, worst + 1)
    day = (course.hours[used] // 24.0).astype(int)
    daily = pd.Series(course.zero[used]).groupby(day).median()
    if len(daily) < 3:
        return ""
    days, level = daily.index.to_numpy(float) + 0.5, daily.to_numpy(float)
    found_rate = drift(days, level, [])
    crossing = crossing_day(days, level, float(np.sign(after or 1.0)) * limit)
    text = (
        f"it moved {found_rate.slope:+.2f} a day ({found_rate.low:+.2f} to {found_rate.high:+.2f})"
    )
    text += f" and passed {limit:g} on {clock.show(ship.visits.time(start)[0])}"
    if np.isfinite([crossing.low, crossing.high]).all() and crossing.low >= 0.0:
        ends = [
            clock.show(ship.visits.time(24.0 * d)[0], "%Y-%m-%d")
            for d in (crossing.low, crossing.high)
        ]
        text += f" (by the straight line {ends[0]} to {ends[1]})"
    return text


CONDITION = Condition("zero_drift", "Detector's zero off", find)
