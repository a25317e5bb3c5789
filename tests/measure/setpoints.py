"""The setpoint study on ships of known truth: ``python -m tests.measure.setpoints --ships 60``.

Every third ship has steady backgrounds near its setpoints, every third none, and every third such
backgrounds with a leak into the same spaces. Each ship is diagnosed and studied; what is proposed
is then run through the simulator's own alarm system, with the true cause of every reading.

``tests/measure/setpoint_truth.py`` says when a proposal is wanted and when out of place.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.setpoints.study import SetpointStudy, study_setpoints
from alarmsift.simulate.crew import react
from alarmsift.simulate.draw import draw_settings
from alarmsift.simulate.leaks import let_in
from alarmsift.simulate.ship import hand_over, put_to_sea
from alarmsift.simulate.watch import Watch, keep_watch
from alarmsift.simulate.world import World
from tests.measure.score import matched
from tests.measure.setpoint_truth import (
    Place,
    admissible,
    events,
    falls_short,
    gas_near,
    loses,
    outcome,
    places,
    published,
    wanted,
)
from tests.simulated import as_logs

KINDS = ("near", "none", "near, with gas")
OFTEN = 6.0  # backgrounds near a setpoint in 60 days


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
        _row(place, one, gas_near(place, found, real), study)
        for place, one in zip(found, real, strict=True)
    ]
    return pd.DataFrame(rows).assign(seed=seed, kind=kind, cpu=spent), verdicts


def _row(place: Place, real: np.ndarray, near_gas: bool, study: SetpointStudy) -> dict[str, object]:
    plan = place.plan
    today = outcome(place, plan.value, plan.deadband, real)
    can = today.near > 0 and admissible(place, today, real, near_gas=near_gas)
    all_of = study.suggestions
    mine = all_of[
        (all_of["point"] == place.name)
        & (all_of["gas"] == plan.gas)
        & (all_of["level"] == plan.level.lower())
    ]
    said = mine.iloc[0] if len(mine) else None
    row: dict[str, object] = {
        "point": place.name, "gas": plan.gas, "level": plan.level, "today": plan.value,
        "band": plan.deadband, "near": today.near, "events": len(real), "gas_near": near_gas,
        "can": can,
        "wanted": wanted(place, today, can=can),
        "outcome": "" if said is None else said["outcome"],
        "why": "" if said is None else said["why"],
        "removed": 0, "missed": 0, "late": 0, "over": False, "moved": False, "stale": 0,
        "falls_short": "",
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
            "falls_short": falls_short(place, today, new),
        }  # fmt: skip
    return row


def told(rows: pd.DataFrame) -> str:
    """Return the figures as text."""
    made = rows["outcome"] == "proposed"
    ships = rows.groupby("seed")
    asked = ships["wanted"].any()
    met = (rows["wanted"] & made).groupby(rows["seed"]).any()
    able = ships["can"].any()
    stray = made & ~rows["can"]
    none = ~able
    hit = rows[rows["wanted"] & made]
    lines = [
        f"ships {len(asked)}, places {len(rows)}, proposals {int(made.sum())} "
        f"(setpoint moved at {int(rows['moved'].sum())})",
        _share("ships where one is wanted: proposed", met[asked].sum(), asked.sum()),
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
        "  " + rows.loc[stray, "falls_short"].value_counts().to_string().replace("\n", "\n  "),
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
