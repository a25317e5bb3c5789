"""Forecasts of detectors against the truth: ``python -m tests.measure.calibration --ships 40``.

Ships with everyday faults get a drift of the HC detectors' zero of a known rate; the logs are cut
at a random moment, and the day foreseen is compared with the day on which the zero (median of the
day around) really left its tolerance, had nobody adjusted since. Spans are judged on logs of checks
alone, a year and more of them, with a sensitivity that fades at a known rate.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
import pandas as pd
from scipy import stats
from tqdm import tqdm

from alarmsift.calibration.detectors import detector_table
from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.calibration.tolerance import SPAN_SHARE, ZERO
from alarmsift.pipeline.calibration import daily_zeros, ends_of
from alarmsift.pipeline.diagnose import measured
from alarmsift.simulate import ship as simulated
from alarmsift.simulate.calibration import calibrate
from alarmsift.simulate.detector import age, traces
from alarmsift.simulate.draw import draw_settings
from alarmsift.simulate.mishaps import befall
from alarmsift.simulate.voyage import sail
from alarmsift.simulate.watch import keep_watch
from alarmsift.simulate.world import World, build
from alarmsift.tables.logs import Logs
from tests.simulated import as_logs
from tests.ten_rows import START, logs_of, of_columns

RATES = (0.06, 0.45)  # of the zero [%LFL/day]
FADE = (0.05, 0.25)  # of the span [%/day]
SHIPS_WITHOUT = ("zero_drift", "low_sensitivity")
DAYS = 60.0


def main() -> None:
    """Print the share of crossings inside the stated interval."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ships", type=int, default=40)
    parser.add_argument("--cuts", type=int, default=3)
    parser.add_argument("--spans", type=int, default=300)
    parser.add_argument("--first-seed", type=int, default=9000)
    given = parser.parse_args()
    seeds = range(given.first_seed, given.first_seed + given.ships)
    rows = [row for seed in tqdm(seeds, disable=None) for row in zero_cases(seed, given.cuts)]
    print(table("zero, by the readings", pd.DataFrame(rows)))
    rng = np.random.default_rng(given.first_seed)
    print(table("span, by the checks", pd.DataFrame([span_case(rng) for _ in range(given.spans)])))


def table(name: str, cases: pd.DataFrame) -> str:
    """Return what became of the forecasts of one kind."""
    judged = cases[cases["forecast"].isin(["expected", "no_finite_end", "beyond"])]
    low, high = judged["low"].fillna(np.inf), judged["high"].fillna(np.inf)
    inside = (low <= judged["true"]) & (judged["true"] <= high)
    held, count = int(inside.sum()), len(judged)
    ends = stats.binomtest(held, count).proportion_ci(0.95, method="wilson")
    width = (judged["high"] - judged["low"]).median()
    expected = judged["forecast"] == "expected"
    finite = inside[expected].mean()
    return "\n".join(
        [
            f"{name}: {len(cases)} cases, " + ", ".join(_counts(cases["forecast"])),
            f"  inside the stated 90 % interval  {held} of {count} = {held / count:.1%} "
            f"(95 % bounds {ends.low:.1%} to {ends.high:.1%})",
            f"  of those with both ends          {finite:.1%} of {int(expected.sum())}",
            f"  came before it, after it         {int((judged['true'] < low).sum())}, "
            f"{int((judged['true'] > high).sum())}",
            f"  days ahead (median), width       {judged['ahead'].median():.1f}, {width:.1f}",
            f"  median error of the middle       "
            f"{(judged['middle'] - judged['true']).abs().median():.1f} days",
        ]
    )


def _counts(keys: pd.Series) -> list[str]:
    return [f"{key} {count}" for key, count in keys.value_counts().items()]


def zero_cases(seed: int, cuts: int) -> list[dict[str, object]]:
    """Return forecasts and truth of one ship, cut at several moments."""
    rng = np.random.default_rng([seed, 77])
    world = _drifting(seed, rng)
    ship = simulated.hand_over(world, keep_watch(world, 2))
    logs = as_logs(ship)
    out: list[dict[str, object]] = []
    for _ in range(cuts):
        cut = float(rng.uniform(8.0, 35.0)) * 24.0
        true = _crossing(world, cut)
        if not np.isfinite(true):
            continue
        out.append(_foreseen(logs, world, cut) | {"true": true, "ahead": true - cut / 24.0})
    return out


def _drifting(seed: int, rng: np.random.Generator) -> World:
    """Return a ship as ``simulate`` makes it, but for a drift of known rate and no other."""
    drawn = draw_settings(seed, days=DAYS)
    expected = {k: 0.0 if k in SHIPS_WITHOUT else v for k, v in drawn.expected.items()}
    habits = replace(drawn.habits, logging="complete")
    settings = replace(drawn, expected=expected, habits=habits)
    world = build(settings, np.random.default_rng([settings.seed, 11]))
    sail(world)
    simulated._breathe(world)
    for gas in settings.gases:
        age(world, gas, settings.noise[gas])
    befall(world)
    rate = float(rng.uniform(*RATES)) * float(rng.choice([1.0, 1.0, 1.0, -1.0]))
    world.zero_walk["HC"] += (rate * world.hours / 24.0)[:, None]
    calibrate(world)
    return world


def _crossing(world: World, cut: float) -> float:
    """Return the day on which the first analyser's zero leaves tolerance, NaN if it never does."""
    kept = world.adjustments
    world.adjustments = [row for row in kept if row[0] <= cut]
    zero = traces(world, "HC")[0][:, 0]
    world.adjustments = kept
    step = float(np.median(np.diff(world.hours)))
    around = max(int(round(24.0 / step)), 1)
    level = pd.Series(zero).rolling(around, center=True, min_periods=1).median().to_numpy()
    past = np.flatnonzero((np.abs(level) >= ZERO["HC"]) & (world.hours > cut))
    here = np.abs(level[np.searchsorted(world.hours, cut)]) >= ZERO["HC"]
    return np.nan if here or not len(past) else float(world.hours[past[0]]) / 24.0


def _foreseen(logs: Logs, world: World, cut: float) -> dict[str, object]:
    """Return what is foreseen of the first analyser's zero [d since the ship's start]."""
    origin = world.settings.start
    last = origin + pd.Timedelta(hours=cut)
    tables = {}
    for name in ("readings", "events", "operations"):
        frame = getattr(logs, name)
        tables[name] = frame[frame["time"] <= last].reset_index(drop=True)
    short = replace(logs, **tables)
    ship, _, _ = measured(short)
    zeros = daily_zeros(ship)
    found = detector_table(short, calibration_ledger(short, zeros), zeros, ends=ends_of(short))
    row = found[(found["gas"] == "HC") & (found["kind"] == "zero")].iloc[0]
    days = {
        name: (row[column] - origin) / pd.Timedelta(days=1)
        for name, column in (
            ("middle", "crosses"),
            ("low", "crosses_low"),
            ("high", "crosses_high"),
        )
    }
    return {"forecast": row["forecast"], "seed": world.settings.seed} | days


def span_case(rng: np.random.Generator) -> dict[str, object]:
    """Return forecast and truth of one detector whose sensitivity fades at a known rate."""
    fade, noise = float(rng.uniform(*FADE)), float(rng.uniform(0.002, 0.008))
    gain, hour, last = 1.0, 0.0, 0.0
    rows: list[tuple[float, str, float]] = []
    for _ in range(int(rng.integers(5, 14))):
        shown = 50.0 * gain * float(np.exp(rng.normal(0.0, noise)))
        rows.append((hour, "span_check", shown))
        if abs(shown - 50.0) >= 2.5:  # people bother about five per cent
            gain = float(np.exp(rng.normal(0.0, noise)))
            rows.append((hour + 0.1, "span_adjust", 50.0))
        last = hour
        days = float(rng.uniform(20.0, 40.0))
        gain -= fade / 100.0 * days
        hour += 24.0 * days
    gain += fade / 100.0 * (hour - last) / 24.0  # as it stood after the last row
    columns = {
        "time": [hour for hour, _, _ in rows],
        "action": [action for _, action, _ in rows],
        "gas": "HC",
        "value": np.round([value for _, _, value in rows], 1),
        "reference": 50.0,
    }
    logs = logs_of({"operations": of_columns("operations", columns)})
    none = pd.DataFrame(
        {"time": pd.to_datetime([], utc=True), "analyser": [], "gas": [], "zero": []}
    )
    table = detector_table(logs, calibration_ledger(logs), none, ends=ends_of(logs))
    row = table[table["kind"] == "span"].iloc[0]
    day = pd.Timedelta(days=1)
    ahead = (gain - (1.0 - SPAN_SHARE)) / (fade / 100.0)
    return {
        "forecast": row["forecast"] if ahead > 0.0 else "really passed",
        "middle": (row["crosses"] - START) / day,
        "low": (row["crosses_low"] - START) / day,
        "high": (row["crosses_high"] - START) / day,
        "true": last / 24.0 + ahead,
        "ahead": ahead,
    }


if __name__ == "__main__":
    main()
