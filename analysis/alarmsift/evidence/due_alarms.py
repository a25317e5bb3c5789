"""Alarms that the readings and the setpoints make due, beside the alarms that came."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from alarmsift.evidence.ship import Ship
from alarmsift.timeline.in_force import InForce, in_force
from alarmsift.timeline.operations import CALIBRATION_ACTIONS
from alarmsift.timeline.visits import TEST

# An alarm row belongs to a crossing within this many rounds either way, and a setpoint row is
# written down within an hour (CP).
LAG_ROUNDS = 1.1
ROW_HOURS = 1.0
# Alarms are often inhibited around a calibration [h] (CP).
TEST_HOURS = 0.75
# An alarm that let so many readings at its setpoint pass came late (CP).
LATE_READINGS = 3
# Readings further apart than this many rounds are no longer one crossing.
BREAK_ROUNDS = 40.0


@dataclass(frozen=True)
class Due:
    """One alarm (point, gas, level): where it was due and did not come, or came for nothing.

    Attributes
    ----------
    missed : list of (start, end, readings, top)
        Crossings with no alarm [h since origin].
    late : list of (start, end, readings, top)
        Crossings whose alarm came later than its visits ask for: from the first reading at the
        setpoint to the alarm [h since origin], with the readings that were let pass and the
        reading at which it came.
    unfounded : list of (start, end)
        Alarms with no crossing [h since origin].
    falling : bool
        The alarm is raised by low readings.
    lone, lone_met : int
        Crossings of a single visit, and how many of them raised an alarm.
    worked : ndarray, shape (a,)
        When the alarm was raised and a crossing was there [h since origin].
    """

    point: str
    gas: str
    level: str
    missed: list[tuple[float, float, int, float]]
    late: list[tuple[float, float, int, float]]
    unfounded: list[tuple[float, float]]
    falling: bool
    lone: int
    lone_met: int
    worked: np.ndarray


# A gas of which at least this many single crossings came and nearly none raised an alarm waits for
# a second visit, whatever the setpoint sheet lacks (CP).
LEARN_LONE, LEARN_MET = 5, 0.2


def due_alarms(ship: Ship, episodes: pd.DataFrame) -> list[Due]:
    """Return what is wrong with each alarm whose setpoint is written down."""
    found = list(_each_alarm(ship, episodes))
    waits = {gas: _waits([d for d in found if d.gas == gas]) for gas in {d.gas for d in found}}
    slow = {gas: _slow([d for d in found if d.gas == gas]) for gas in waits}
    return [
        replace(
            d,
            missed=[row for row in d.missed if row[2] > 1] if waits[d.gas] else d.missed,
            late=[] if slow[d.gas] else d.late,
        )
        for d in found
    ]


def _slow(of_gas: list[Due]) -> bool:
    """Tell whether the alarms of one gas come late as a rule: they wait for more visits."""
    late, worked = sum(len(d.late) for d in of_gas), sum(len(d.worked) for d in of_gas)
    return late >= LEARN_LONE and late > worked


def _waits(of_gas: list[Due]) -> bool:
    """Tell whether the alarms of one gas wait for a second visit."""
    lone, met = sum(d.lone for d in of_gas), sum(d.lone_met for d in of_gas)
    return lone >= LEARN_LONE and met <= LEARN_MET * lone


def _each_alarm(ship: Ship, episodes: pd.DataFrame) -> Iterator[Due]:
    visits = ship.visits
    index = {name: code for code, name in enumerate(visits.points)}
    raised, cleared = visits.since(episodes["raised"]), visits.since(episodes["cleared"])
    cleared = np.where(np.isfinite(cleared), cleared, np.inf)
    inferred = episodes["inferred_clear"].to_numpy(bool)
    shown = pd.to_numeric(episodes["value"], errors="coerce").to_numpy(float)
    keys = [episodes[c].astype(str).to_numpy(object) for c in ("point", "gas", "level")]
    mine: dict[tuple[str, ...], list[int]] = {}
    for row, key in enumerate(zip(*keys, strict=True)):
        mine.setdefault(key, []).append(row)
    quiet = _blocked(ship)
    confirm = _confirm(ship)
    for (point, gas, level), stated in in_force(ship.setpoints, visits).items():
        if point not in index or gas not in visits.value or stated.inferred.all():
            continue
        # What was only inferred from the alarms can't speak against them.
        span = replace(stated, value=np.where(stated.inferred, np.nan, stated.value))
        at = np.array(mine.get((point, gas, level), []), dtype=int)
        order = at[np.argsort(raised[at], kind="stable")]
        p = index[point]
        rows = visits.of(p)
        good = np.isfinite(visits.value[gas][rows]) & (visits.status[gas][rows] != TEST)
        series = _series(ship, gas, rows[good], span)
        need = confirm.get((gas, level, point), confirm.get((gas, level, ""), 1))
        alarms = np.stack([raised[order], cleared[order]], axis=1)
        noise = float(ship.noise[gas][p])
        # A raise while the alarm was still up repeats it, whatever the readings did since.
        first = ~np.append(False, inferred[order[:-1]])[: len(order)]
        # Nor is one without a crossing where the list itself says what was shown.
        sign = series.sign
        first &= ~(sign * shown[order] >= sign * span.value_at(raised[order]) - 1e-9)
        parts = _missed(series, alarms, quiet[rows[good]], need, visits.cycle_hours)
        missed, late, lone, met = parts
        wrong = _unfounded(ship, gas, p, span, alarms[:, 0][first], noise) if len(order) else []
        failed = [start for start, _ in wrong] + [end for _, end, _, _ in late]
        worked = np.setdiff1d(alarms[:, 0], failed)
        yield Due(point, gas, level, missed, late, wrong, span.falling, lone, met, worked)


@dataclass(frozen=True)
class _Series:
    """Readings of one alarm: danger grows upwards whatever its direction; shape (n,) each."""

    hours: np.ndarray
    over: np.ndarray
    under: np.ndarray
    value: np.ndarray
    sign: float
    near_change: np.ndarray


def _series(ship: Ship, gas: str, rows: np.ndarray, span: InForce) -> _Series:
    visits = ship.visits
    sign = -1.0 if span.falling else 1.0
    hours, value = visits.hours[rows], sign * visits.value[gas][rows]
    limit = sign * span.value_at(hours)
    limit = np.where(np.isfinite(limit), limit, np.inf)
    band = span.deadband_at(hours)
    # Around a change either setpoint may be in force: the row is rounded.
    change = span.start[np.isfinite(span.start)]
    near = np.zeros(len(hours), bool)
    if len(change):
        near = (np.abs(hours[:, None] - change[None, :]) < ROW_HOURS).any(axis=1)
    return _Series(hours, value >= limit - 1e-9, value < limit - band - 1e-9, value, sign, near)


def _confirm(ship: Ship) -> dict[tuple[str, ...], int]:
    rows = ship.logs.setpoints
    rows = rows[rows["confirm_visits"].notna()]
    out: dict[tuple[str, ...], int] = {
        (str(g), str(lv).lower(), "" if pd.isna(p) else str(p).strip()): int(n)
        for g, lv, p, n in zip(
            rows["gas"], rows["level"], rows["point"], rows["confirm_visits"], strict=True
        )
    }
    for item in ship.logs.site.setpoints:
        if item.confirm_visits is not None and np.isfinite(item.confirm_visits):
            key = (str(item.gas), str(item.level).lower(), str(item.point or "").strip())
            out[key] = int(item.confirm_visits)
    return out


def _blocked(ship: Ship) -> np.ndarray:
    """Tell for each visit whether a calibration is near, shape (n,)."""
    visits = ship.visits
    tests = np.sort(ship.operations.of(*CALIBRATION_ACTIONS)["hours"].to_numpy(float))
    marked = np.zeros(len(visits), bool)
    for gas in visits.gases:
        marked |= visits.status[gas] == TEST
    tests = np.sort(np.concatenate([tests, visits.hours[marked]]))
    low = np.searchsorted(tests, visits.hours - TEST_HOURS)
    return np.asarray(np.searchsorted(tests, visits.hours + TEST_HOURS, "right") > low)


def _missed(
    series: _Series, alarms: np.ndarray, quiet: np.ndarray, need: int, cycle: float
) -> tuple[list[tuple[float, float, int, float]], list[tuple[float, float, int, float]], int, int]:
    """Return the stretches over the setpoint that no alarm met: start, end, readings, top.

    Then those whose alarm came late, how many crossings had one visit only, and how many of those
    raised an alarm.
    """
    over, hours = series.over, series.hours
    if not over.any():
        return [], [], 0, 0
    lone = lone_met = 0
    late = []
    up = over.copy()
    for back in range(1, need):
        up[back:] &= over[:-back]
        up[:back] = False
    break_ = np.append(True, np.diff(hours) > BREAK_ROUNDS * cycle)
    mark = np.where(up, 1, np.where(series.under | break_, 0, -1))
    rows = np.arange(len(mark))
    state = mark[np.maximum.accumulate(np.where(mark >= 0, rows, 0))] == 1
    edge = np.diff(np.concatenate([[0], state.astype(int), [0]]))
    begin, stop = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
    lag = LAG_ROUNDS * cycle
    out = []
    for a, b in zip(begin, stop, strict=True):  # crossings of one alarm
        start, last = float(hours[a]), float(hours[b - 1])
        end = float(hours[b]) if b < len(hours) and not break_[b] else last
        met = (alarms[:, 0] <= end + lag) & (alarms[:, 1] >= start - lag)
        inside = slice(a, b)
        doubt = quiet[inside] | series.near_change[inside]
        real = over[inside] & ~doubt
        if real.any() and not doubt[0] and int(over[inside].sum()) == 1:
            lone, lone_met = lone + 1, lone_met + int(met.any())
        if met.any() and not doubt[0]:
            first = float(alarms[met, 0].min())
            passed = real & (hours[inside] < first - lag)
            if int(passed.sum()) >= LATE_READINGS:
                shown = series.value[inside][hours[inside] <= first + 1e-3]
                late.append((start, first, int(passed.sum()), series.sign * float(shown[-1])))
        if met.any() or not real.any() or doubt[0]:
            continue
        top = series.sign * float(series.value[inside].max())
        out.append((start, max(end, start + cycle / 2), int(real.sum()), top))
    return out, late, lone, lone_met


def _unfounded(  # noqa: PLR0913  (one alarm of one point)
    ship: Ship, gas: str, p: int, span: InForce, raised: np.ndarray, noise: float
) -> list[tuple[float, float]]:
    """Return the alarms with no reading near the setpoint around them."""
    visits = ship.visits
    rows = visits.of(p)
    value = visits.raw[gas][rows]
    good = np.isfinite(value)
    hours, value = visits.hours[rows][good], value[good]
    sign = -1.0 if span.falling else 1.0
    lag = LAG_ROUNDS * visits.cycle_hours
    low, high = np.searchsorted(hours, raised - lag), np.searchsorted(hours, raised + lag, "right")
    # Just before and after a change of the setpoint either may have raised it.
    limit = np.fmin(
        sign * span.value_at(raised - ROW_HOURS),
        sign * span.value_at(raised + ROW_HOURS),
    )
    # A lost reading is no proof: every turn around the alarm must be there.
    count = high - low
    whole = np.array(
        [
            count[i] >= 2
            and np.diff(hours[low[i] : high[i]]).max() < 1.6 * visits.cycle_hours
            and np.abs(hours[low[i] : high[i]] - raised[i]).min() < 0.6 * visits.cycle_hours
            for i in range(len(raised))
        ],
        dtype=bool,
    )
    return [
        (float(raised[i]), float(raised[i]) + 0.5)
        for i in range(len(raised))
        if whole[i] and limit[i] - float((sign * value[low[i] : high[i]]).max()) > max(noise, 1e-9)
    ]
