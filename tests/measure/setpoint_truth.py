"""By truth alone: where another setpoint or deadband could rid a point of its background's alarms.

A setting is *admissible* at a point, gas and level if

- it raises at the first visit, as today's does, with a deadband no narrower than today's and no
  wider than half of the way from clean air to the setpoint;
- its setpoint is today's, or, where no true alarm of gas or deck vapour of that gas came at the
  point or in its space, a less safe one up to the published ceiling (30 %LFL, pump rooms and
  spaces of unknown kind 10 %LFL; no other gas has one) and the next level;
- every true event of gas or deck vapour that today's setting raises is raised anew, and no later;
- no more alarms stand longer than a day than today, or a further level at or under the ceiling
  tells a rise meanwhile;
- it leaves at most a fifth of today's alarms by the background, and at most the goal (2) in 30
  days.

A proposal is *wanted* where there is such a setting, the background raises more than the goal
today, the logs are long enough to show a lower rate (90 days over today's alarms in 30 days, 30 at
least), and they state a setpoint that still stands at their end. It is *out of place* where no
background raises any alarm, or no admissible setting rids the point of one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from alarmsift.simulate.alarms import Episodes, gas_episodes
from alarmsift.simulate.sampling import Channel
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.truth import gas_causes
from alarmsift.simulate.watch import Watch
from alarmsift.simulate.world import World
from alarmsift.tables.schema import REAL

GOAL = 2.0  # alarms in 30 days
SHOWN_DAYS = 30.0  # no count in 30 days is told from less [d]
NONE_SHOWS = 90.0  # days times alarms in 30 days that no alarm at all needs to show fewer
PUBLISHED = {"pump_room": 10.0, "": 10.0}  # [%LFL]; all other spaces:
PUBLISHED_OTHER = 30.0  # SOLAS II-2/4.5.10, FSS Code ch. 16, MSC.1/Circ.1370
EVENT_GAP_H = 12.0
STALE_H = 24.0
LEFT_OVER = 0.2  # share of the background's alarms that an admissible setting may leave


@dataclass(frozen=True)
class Place:
    """One point, gas and level of a simulated ship, with the truth of each of its visits."""

    world: World
    plan: SetpointPlan
    point: int
    watch: Watch
    rows: np.ndarray
    cause: np.ndarray

    @property
    def hour(self) -> np.ndarray:
        return self.watch.visits.hour[self.rows]

    def alarms(self, value: float, band: float) -> tuple[np.ndarray, np.ndarray]:
        """Return rows of raise and clear (-1 = never) under a setting, by the ship's own system."""
        plan = replace(self.plan, value=value, deadband=band, point=self.name)
        world = replace(self.world, settings=replace(self.world.settings, setpoints=(plan,)))
        found = gas_episodes(world, self.watch.visits.where(self._keep), self.channel(), plan)
        return found.raised, found.cleared

    @property
    def name(self) -> str:
        return self.world.settings.points[self.point].name

    @property
    def _keep(self) -> np.ndarray:
        keep = np.zeros(len(self.watch.visits.hour), bool)
        keep[self.rows] = True
        return keep

    def channel(self) -> Channel:
        whole, rows = self.watch.channels[self.plan.gas], self.rows
        return Channel(
            whole.shown[rows], whole.danger[rows], whole.over[rows], whole.faulty[rows],
            whole.distrusted[rows], {},
        )  # fmt: skip

    @property
    def rising(self) -> bool:
        return self.plan.direction == "rising"


@dataclass(frozen=True)
class Outcome:
    """What a setting does: raises by true cause, events told anew, alarms that stand long."""

    near: int
    told: np.ndarray  # first row that raises anew within each event, or -1
    caught: np.ndarray  # whether it is in alarm within each event
    stale: int


def places(world: World, watch: Watch) -> list[Place]:
    """Return all points, gases and levels with their true causes."""
    visits, out = watch.visits, []
    own = {(p.gas, p.level, p.point) for p in world.settings.setpoints if p.point}
    for plan in world.settings.setpoints:
        every = Episodes(plan.gas, plan.level, np.arange(len(visits.hour)), np.array([]))
        cause = gas_causes(world, visits, watch.channels[plan.gas], plan, every)
        for point, about in enumerate(world.settings.points):
            elsewhere = plan.point and plan.point != about.name
            if elsewhere or (not plan.point and (plan.gas, plan.level, about.name) in own):
                continue
            rows = np.flatnonzero(visits.point == point)
            rows = rows[np.argsort(visits.hour[rows], kind="stable")]
            if len(rows):
                out.append(Place(world, plan, point, watch, rows, cause[rows]))
    return out


def events(place: Place) -> np.ndarray:
    """Return first and last row of each true event that stands over today's setpoint, (e, 2)."""
    channel = place.channel()
    limit = place.world.setpoint(place.plan.gas, place.plan.level, place.plan.point)
    high = np.isin(place.cause, list(REAL)) & (channel.danger >= limit - 1e-9)
    rows = np.flatnonzero(high & ~channel.faulty & ~channel.distrusted)
    if not len(rows):
        return np.zeros((0, 2), int)
    new = np.flatnonzero(np.diff(place.hour[rows]) > EVENT_GAP_H)
    return np.column_stack([rows[np.append(0, new + 1)], rows[np.append(new, len(rows) - 1)]])


def outcome(place: Place, value: float, band: float, real: np.ndarray) -> Outcome:
    """Return what a setting does at a place."""
    up, down = place.alarms(value, band)
    down = np.where(down < 0, len(place.rows) - 1, down)
    told, caught = np.full(len(real), -1), np.zeros(len(real), bool)
    for i, (first, last) in enumerate(real):
        anew = up[(up >= first) & (up <= last)]
        told[i] = anew.min() if len(anew) else -1
        caught[i] = ((up <= last) & (down > first)).any() or len(anew) > 0
    long = place.hour[down] - place.hour[up] > STALE_H
    return Outcome(int((place.cause[up] == "tight_setpoint").sum()), told, caught, int(long.sum()))


def loses(today: Outcome, other: Outcome) -> tuple[int, int]:
    """Return true events that a setting misses, and those told later or by an old alarm only."""
    missed = today.caught & ~other.caught
    late = (today.told >= 0) & ((other.told < 0) | (other.told > today.told))
    return int(missed.sum()), int((late & ~missed).sum())


def published(place: Place, *, stated: bool = True) -> float:
    """Return the published ceiling [gas's unit], NaN where there is none."""
    if place.plan.gas != "HC":
        return float("nan")
    kind = place.world.settings.points[place.point].kind
    if stated and "points" not in place.world.settings.habits.tables:
        kind = ""
    return PUBLISHED.get(kind, PUBLISHED_OTHER)


def admissible(place: Place, today: Outcome, real: np.ndarray, *, near_gas: bool) -> bool:
    """Tell whether there is a setting as the head of this file defines it."""
    plan, top = place.plan, place.plan.value
    if plan.confirm_visits > 1:
        return False
    ceiling = published(place)
    beyond = [
        p.value
        for p in place.world.settings.setpoints
        if p.gas == plan.gas and p.point in ("", place.name) and p.value > plan.value
    ]
    graver = min(beyond, default=np.inf)
    if not near_gas and place.rising and np.isfinite(ceiling):
        top = max(top, min(ceiling, graver))
    told = np.isfinite(graver) and (np.isnan(ceiling) or graver <= ceiling) and place.rising
    clean = 0.0 if place.rising else 20.9
    widest = max(0.5 * abs(plan.value - clean), plan.deadband)
    bands = np.linspace(plan.deadband, widest, 46)
    tries = [(plan.value, band) for band in bands]
    if top > plan.value:
        more = plan.value + (top - plan.value) * np.linspace(0.0, 1.0, 21)[1:] ** 2
        tries += [(value, band) for value in more for band in bands[:16:15]]
    months = watched(place) / 30.0
    for value, band in tries:
        found = outcome(place, value, band, real)
        if found.near > LEFT_OVER * today.near or found.near / months > GOAL:
            continue
        if loses(today, found) == (0, 0) and (found.stale <= today.stale or told):
            return True
    return False


def falls_short(place: Place, today: Outcome, new: Outcome) -> str:
    """Return the first of the conditions at the head of this file that a setting misses, or ''."""
    missing = {
        "no alarm by a background there": today.near == 0,
        "misses or delays an event": loses(today, new) != (0, 0),
        "leaves more than a fifth": new.near > LEFT_OVER * today.near,
        "leaves more than the goal": new.near * 30.0 / watched(place) > GOAL,
        "more alarms stand over a day": new.stale > today.stale,
    }
    return next((words for words, so in missing.items() if so), "")


def wanted(place: Place, today: Outcome, *, can: bool) -> bool:
    """Tell whether a proposal is wanted as the head of this file defines it."""
    days = watched(place)
    rate = today.near * 30.0 / max(days, 1.0)
    long = days >= SHOWN_DAYS and days * rate >= NONE_SHOWS
    return can and rate > GOAL and long and _stated(place)


def watched(place: Place) -> float:
    """Return the days over which the point was read."""
    gap = np.diff(place.hour)
    return float(np.minimum(gap, 2.0 * np.median(gap)).sum() / 24.0) if len(gap) else 0.0


def _stated(place: Place) -> bool:
    """Tell whether the logs state the setpoint that stands at their end."""
    world, plan = place.world, place.plan
    settings = world.settings
    written = "setpoints" in settings.habits.tables or settings.seed % 5 < 3  # as site.toml
    moved = any(
        (one.gas, one.level) == (plan.gas, plan.level)
        and one.point in (place.point, -1)
        and one.end >= world.end
        for one in world.moves
    )
    return written and not moved


def gas_near(place: Place, found: list[Place], real: list[np.ndarray]) -> bool:
    space = place.world.settings.points[place.point].space
    return any(
        len(one)
        for other, one in zip(found, real, strict=True)
        if other.plan.gas == place.plan.gas
        and place.world.settings.points[other.point].space == space
    )
