"""The setpoint study on ships of known truth: ``python -m tests.measure.setpoints --ships 60``.

Every third ship has steady backgrounds near its setpoints, every third none, and every third such
backgrounds with a leak into the same spaces. Each ship is diagnosed and studied; what is proposed
is then run through the simulator's own alarm system, with the true cause of every reading.

By truth alone a setting is *admissible* at a point, gas and level if

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
today, the logs are long enough to show so low a rate (45 days), and they state a setpoint that
still stands at their end. It is *out of place* where no
background raises any alarm, or no admissible setting rids the point of one.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.setpoints.study import SetpointStudy, study_setpoints
from alarmsift.simulate.alarms import Episodes, gas_episodes
from alarmsift.simulate.crew import react
from alarmsift.simulate.draw import draw_settings
from alarmsift.simulate.leaks import let_in
from alarmsift.simulate.sampling import Channel
from alarmsift.simulate.settings import SetpointPlan
from alarmsift.simulate.ship import hand_over, put_to_sea
from alarmsift.simulate.truth import gas_causes
from alarmsift.simulate.watch import Watch, keep_watch
from alarmsift.simulate.world import World
from alarmsift.tables.schema import REAL
from tests.measure.score import matched
from tests.simulated import as_logs

KINDS = ("near", "none", "near, with gas")
OFTEN = 6.0  # backgrounds near a setpoint in 60 days
GOAL = 2.0  # alarms in 30 days
SHOWN_DAYS = 45.0  # no alarm at all shows a rate under the goal only after so long [d]
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
        plan = replace(self.plan, value=value, deadband=band, point=self._name)
        world = replace(self.world, settings=replace(self.world.settings, setpoints=(plan,)))
        found = gas_episodes(world, self.watch.visits.where(self._keep), self._channel(), plan)
        return found.raised, found.cleared

    @property
    def _name(self) -> str:
        return self.world.settings.points[self.point].name

    @property
    def _keep(self) -> np.ndarray:
        keep = np.zeros(len(self.watch.visits.hour), bool)
        keep[self.rows] = True
        return keep

    def _channel(self) -> Channel:
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


def put_out(seed: int, days: float) -> tuple[World, Watch, str]:
    """Return one ship of the kind that its seed names, and what its analyser saw."""
    kind = KINDS[seed % len(KINDS)]
    drawn = draw_settings(seed, days=days)
    often = 0.0 if kind == "none" else OFTEN
    world = put_to_sea(replace(drawn, expected=drawn.expected | {"tight_setpoint": often}))
    if kind == "near, with gas":
        _leak_there(world)
    react(world, keep_watch(world, 1))
    return world, keep_watch(world, 2), kind


def _leak_there(world: World) -> None:
    """Let gas into every space that has a background near its setpoint, while it has."""
    names = [plan.name for plan in world.settings.points]
    for story in [one for one in world.stories if one["story"] == "tight_setpoint"]:
        hours = float(world.rng.uniform(4.0, 48.0))
        last = max(min(float(story["end"]), world.end) - hours, float(story["start"]) + 1.0)
        start = float(world.rng.uniform(float(story["start"]), last))
        target = world.setpoint("HC") * float(world.rng.uniform(0.8, 4.0))
        let_in(world, names.index(story["points"]), start, hours, target)


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
    channel = place._channel()
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


def admissible(place: Place, today: Outcome, real: np.ndarray, *, gas_near: bool) -> bool:
    """Tell whether there is a setting as the head of this file defines it."""
    plan, top = place.plan, place.plan.value
    if plan.confirm_visits > 1:
        return False
    ceiling = published(place)
    beyond = [
        p.value
        for p in place.world.settings.setpoints
        if p.gas == plan.gas and p.point in ("", place._name) and p.value > plan.value
    ]
    graver = min(beyond, default=np.inf)
    if not gas_near and place.rising and np.isfinite(ceiling):
        top = max(top, min(ceiling, graver))
    told = np.isfinite(graver) and (np.isnan(ceiling) or graver <= ceiling) and place.rising
    clean = 0.0 if place.rising else 20.9
    widest = max(0.5 * abs(plan.value - clean), plan.deadband)
    bands = np.linspace(plan.deadband, widest, 16)
    tries = [(plan.value, band) for band in bands]
    if top > plan.value:
        more = plan.value + (top - plan.value) * np.linspace(0.0, 1.0, 21)[1:] ** 2
        tries += [(value, band) for value in more for band in bands[:6:5]]
    months = _watched(place) / 30.0
    for value, band in tries:
        found = outcome(place, value, band, real)
        if found.near > LEFT_OVER * today.near or found.near / months > GOAL:
            continue
        if loses(today, found) == (0, 0) and (found.stale <= today.stale or told):
            return True
    return False


def _watched(place: Place) -> float:
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


def one_ship(seed: int, days: float) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return a row a place of one ship, truth beside what is proposed, and its alarms' verdicts."""
    world, watch, kind = put_out(seed, days)
    ship = hand_over(world, watch)
    logs = as_logs(ship)
    diagnosis = diagnose(logs)
    chance = diagnosis.probabilities[["gas", "ambient_vapour"]].sum(axis=1)
    verdicts = matched(diagnosis.episodes, ship.truth_episodes, str(seed))
    verdicts = verdicts[(verdicts["kind"] == "alarm") & verdicts["found"]]
    verdicts = verdicts.assign(real=chance.reindex(verdicts["episode"]).to_numpy())
    start = time.process_time()
    study = study_setpoints(logs, diagnosis)
    spent = time.process_time() - start
    found = places(world, watch)
    real = [events(place) for place in found]
    rows = [
        _row(place, one, _gas_near(place, found, real), study)
        for place, one in zip(found, real, strict=True)
    ]
    return pd.DataFrame(rows).assign(seed=seed, kind=kind, cpu=spent), verdicts


def _gas_near(place: Place, found: list[Place], real: list[np.ndarray]) -> bool:
    space = place.world.settings.points[place.point].space
    return any(
        len(one)
        for other, one in zip(found, real, strict=True)
        if other.plan.gas == place.plan.gas
        and place.world.settings.points[other.point].space == space
    )


def _row(place: Place, real: np.ndarray, gas_near: bool, study: SetpointStudy) -> dict[str, object]:
    plan = place.plan
    today = outcome(place, plan.value, plan.deadband, real)
    months = max(_watched(place), 1.0) / 30.0
    can = today.near > 0 and admissible(place, today, real, gas_near=gas_near)
    all_of = study.suggestions
    mine = all_of[
        (all_of["point"] == place._name)
        & (all_of["gas"] == plan.gas)
        & (all_of["level"] == plan.level.lower())
    ]
    said = mine.iloc[0] if len(mine) else None
    row: dict[str, object] = {
        "point": place._name, "gas": plan.gas, "level": plan.level, "today": plan.value,
        "band": plan.deadband, "near": today.near, "events": len(real), "gas_near": gas_near,
        "can": can,
        "wanted": can
        and today.near / months > GOAL
        and _watched(place) >= SHOWN_DAYS
        and _stated(place),
        "outcome": "" if said is None else said["outcome"],
        "why": "" if said is None else said["why"],
        "removed": 0, "missed": 0, "late": 0, "over": False, "moved": False, "stale": 0,
    }  # fmt: skip
    if said is not None and said["outcome"] == "proposed":
        value, band = float(said["new_setpoint"]), float(said["new_deadband"])
        new = outcome(place, value, band, real)
        missed, late = loses(today, new)
        less_safe = (value - said["setpoint"]) * (1 if place.rising else -1)
        limit = published(place, stated=False)
        row |= {
            "removed": max(today.near - new.near, 0), "missed": missed, "late": late,
            "moved": less_safe > 1e-9, "new": value, "new_band": band,
            "stale": new.stale - today.stale,
            "over": less_safe > 1e-9 and (np.isnan(limit) or value > limit + 1e-9),
        }  # fmt: skip
    return row


def told(rows: pd.DataFrame) -> str:
    """Return the figures as text."""
    made = rows["outcome"] == "proposed"
    ships = rows.groupby("seed")
    wanted = ships["wanted"].any()
    met = (rows["wanted"] & made).groupby(rows["seed"]).any()
    able = ships["can"].any()
    stray = made & ~rows["can"]
    none = ~able
    hit = rows[rows["wanted"] & made]
    lines = [
        f"ships {len(wanted)}, places {len(rows)}, proposals {int(made.sum())} "
        f"(setpoint moved at {int(rows['moved'].sum())})",
        _share("ships where one is wanted: proposed", met[wanted].sum(), wanted.sum()),
        _share("places where one is wanted: proposed", len(hit), rows["wanted"].sum()),
        _share("  alarms by the background there that go", hit["removed"].sum(), hit["near"].sum()),
        _share("  of those at every wanted place", hit["removed"].sum(),
               rows.loc[rows["wanted"], "near"].sum()),
        _share("  proposals there that remove 80 %",
               (hit["removed"] >= 0.8 * hit["near"]).sum(), len(hit)),
        _share("ships without an admissible setting: a proposal",
               made.groupby(rows["seed"]).any()[none].sum(), none.sum()),
        f"proposals out of place (any ship)                {int(stray.sum())}",
        f"true events missed / told later / over a ceiling {int(rows['missed'].sum())} / "
        f"{int(rows['late'].sum())} / {int(rows['over'].sum())}",
        f"setpoint moved where true gas was near           "
        f"{int((rows['moved'] & rows['gas_near']).sum())}",
        f"alarms that would newly stand over a day         {rows['stale'].sum():.0f}",
        "",
        "By kind of ship (places)",
        rows.groupby("kind")
        .apply(lambda p: pd.Series({
            "wanted": p["wanted"].sum(), "met": (p["wanted"] & (p["outcome"] == "proposed")).sum(),
            "proposed": (p["outcome"] == "proposed").sum(),
            "out of place": ((p["outcome"] == "proposed") & ~p["can"]).sum(),
        }), include_groups=False)
        .to_string(),
        "",
        "Wanted places by outcome",
        rows.loc[rows["wanted"], "outcome"].value_counts().to_string(),
        f"CPU of a study [s]: median {ships['cpu'].first().median():.1f}, "
        f"most {ships['cpu'].first().max():.1f}",
    ]  # fmt: skip
    return "\n".join(lines)


def guarded(verdicts: pd.DataFrame) -> str:
    """Return what alarms called a background really are, by what keeps them from being settled."""
    near = verdicts[verdicts["cause"] == "tight_setpoint"]
    kept = np.select(
        [near["treat_as"] == "nuisance", near["real"] < 0.01], ["settled", "gas under 1 %, held"],
        "gas 1 % or more",
    )  # fmt: skip
    table = pd.crosstab(kept, near["truth"])
    return "\n".join(["", "Alarms called tight_setpoint (rows) by truth", table.to_string()])


def _share(name: str, part: float, whole: float) -> str:
    return f"{name:48} {int(part)} of {int(whole)} = {part / max(whole, 1):.1%}"


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ships", type=int, default=60)
    parser.add_argument("--days", type=float, default=90.0)
    parser.add_argument("--first-seed", type=int, default=9000)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--save", help="write the places there as CSV")
    options = parser.parse_args(arguments)
    seeds = range(options.first_seed, options.first_seed + options.ships)
    with ProcessPoolExecutor(options.jobs) as pool:
        jobs = [pool.submit(one_ship, seed, options.days) for seed in seeds]
        parts = [job.result() for job in tqdm(jobs, desc="Ships", file=sys.stderr)]
    rows, verdicts = (pd.concat(some, ignore_index=True) for some in zip(*parts, strict=True))
    if options.save:
        rows.to_csv(options.save, index=False)
    print(told(rows))
    print(guarded(verdicts))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
