"""Growth and inflow of simulated leaks: ``python -m tests.measure.growth --ships 30 --days 30``.

Simulates fresh ships, diagnoses them, and counts how often the true mean rate over the stated rise
and the true mean inflow over it lie in the stated ranges. Truth is the air at the probe and the
source in the space, as the simulator holds them. Where a leak went on to the high setpoint, the
earliest time there is also reckoned from what was known at the raise, and counted when it was not
too late. Leaks are made so many times as often as on other simulated ships (``--leaks``).
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.evidence.alarm_rise import Bouts, course_of, rise_behind
from alarmsift.evidence.possible_gas import times_at_high
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.span_checks import checks_by_detector
from alarmsift.pipeline.diagnose import diagnose, measured
from alarmsift.simulate.crew import react
from alarmsift.simulate.draw import draw_settings
from alarmsift.simulate.sampling import probe_air
from alarmsift.simulate.ship import hand_over, put_to_sea
from alarmsift.simulate.watch import keep_watch
from alarmsift.simulate.world import World
from tests.simulated import as_logs

LFL = 2.1  # the simulated cargo's [vol%]
# A rise is a leak's when its source was on for most of it and most of the growth was gas.
ON_SHARE, OWN_SHARE = 0.5, 0.5


def rises_of(seed: int, days: float, leaks: float) -> pd.DataFrame:
    """Return the rows of possible gas of one ship with what was true."""
    drawn = draw_settings(seed, days=days)
    expected = dict(drawn.expected)
    expected["gas"] = leaks * expected["gas"]
    world = put_to_sea(replace(drawn, expected=expected))
    react(world, keep_watch(world, 1))
    logs = as_logs(hand_over(world, keep_watch(world, 2)))
    table = diagnose(logs).possible_gas
    ship, _, _ = measured(logs)
    start = world.settings.start.tz_convert("UTC")
    air = {gas: probe_air(world, gas)["gas"] for gas in world.settings.gases}
    rows = [true_of(world, row, start, air[row.gas]) for row in table.itertuples()]
    truth = pd.DataFrame(rows, columns=["true_growth", "true_inflow", "leak"], index=table.index)
    told = [told_at_the_raise(ship, row) for row in table.itertuples()]
    return table.join(truth).assign(seed=seed, told=told)


def told_at_the_raise(ship: Ship, row: object) -> float:
    """Return how long before the high setpoint was seen it was said to be possible [h].

    Negative is too late; NaN where it was not seen after the raise or nothing was said.
    """
    if pd.isna(row.high_seen) or row.high_seen <= row.raised:
        return np.nan
    hour = float(ship.visits.since(pd.Series([row.raised]))[0])
    seen = float(ship.visits.since(pd.Series([row.high_seen]))[0])
    one = Bouts(("",), row.point, row.gas, row.treat_as, row.p_gas, False, hour, hour, True)
    rise = rise_behind(ship, one, list(checks_by_detector(ship)))
    if rise is None or not np.isfinite(rise.high) or rise.high <= 0:
        return np.nan
    at, _ = course_of(ship, row.point, row.gas)
    noise = float(ship.noise[row.gas][ship.visits.points.index(row.point)])
    said = times_at_high(ship, one, rise, "range", at=at, noise=noise)
    return seen - said.get("earliest_high", np.nan)


def true_of(
    world: World, row: object, start: pd.Timestamp, air: np.ndarray
) -> tuple[float, float, bool]:
    """Return the true rate [unit/h], the true inflow [L/min] and whether it was a leak."""
    if pd.isna(row.rise_start):
        return np.nan, np.nan, False
    names = [plan.name for plan in world.settings.points]
    point = names.index(row.point)
    first, last = ((t - start) / pd.Timedelta(hours=1) for t in (row.rise_start, row.rise_end))
    length = max(last - first, 1e-6)
    at = np.interp([first, last], world.hours, air[:, point])
    space, span = world.space_of(point), world.span(first, last)
    source = world.source[row.gas][span, space]
    inflow = np.nan
    if row.gas != "O2":
        share = LFL / 1e4 if row.gas == "HC" else 1e-6
        inflow = float(source.mean()) * world.settings.points[point].volume_m3 * share * 1000 / 60
    gained = at[1] - at[0]
    own = gained > OWN_SHARE * row.growth_low * length if row.growth_low > 0 else gained > 0
    return gained / length, inflow, bool((source > 0).mean() > ON_SHARE and own)


def inside(frame: pd.DataFrame, name: str, truth: str) -> pd.Series:
    return (frame[truth] >= frame[f"{name}_low"]) & (frame[truth] <= frame[f"{name}_high"])


def report(rows: pd.DataFrame) -> str:
    """Return the figures as text."""
    mine = rows[rows["leak"]]
    ranged = mine[mine["claim"] == "range"]
    flows = ranged[ranged["inflow_low"].notna()]
    least = mine[mine["claim"] == "at least"]
    width = (ranged["growth_high"] / ranged["growth_low"].clip(lower=1e-9)).median()
    flow_width = (flows["inflow_high"] / flows["inflow_low"]).median()
    over = least["true_growth"] >= least["growth_low"]
    told = mine["told"].dropna()
    lines = [
        f"rows of possible gas             {len(rows)} ({len(mine)} of leaks)",
        f"leaks with a range of the rate   {len(ranged)}",
        f"true rate in it                  {inside(ranged, 'growth', 'true_growth').mean():.1%}",
        f"median high/low of it            {width:.2f}",
        f"leaks with an inflow             {len(flows)}",
        f"true inflow in it                {inside(flows, 'inflow', 'true_inflow').mean():.1%}",
        f"median high/low of it            {flow_width:.2f}",
        f"leaks with a least rate only     {len(least)}",
        f"true rate at or over it          {over.mean():.1%}",
        f"went on to the high setpoint     {len(told)}",
        f"seen there no sooner than told   {(told >= 0).mean():.1%}",
    ]
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ships", type=int, default=30)
    parser.add_argument("--days", type=float, default=30.0)
    parser.add_argument("--first-seed", type=int, default=9000)
    parser.add_argument("--leaks", type=float, default=3.0)
    parser.add_argument("--save", default="", help="CSV file for the rows")
    given = parser.parse_args()
    seeds = range(given.first_seed, given.first_seed + given.ships)
    rows = pd.concat(
        [rises_of(seed, given.days, given.leaks) for seed in tqdm(seeds, disable=None)],
        ignore_index=True,
    )
    if given.save:
        rows.to_csv(given.save, index=False)
    print(report(rows))


if __name__ == "__main__":
    main()
