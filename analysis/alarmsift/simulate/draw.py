"""Draw a ship by seed: wide variety, and unkind where real ships are."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from alarmsift.simulate.sample_line import clean_resistance, line_volume
from alarmsift.simulate.settings import Habits, PointPlan, SetpointPlan, ShipSettings
from alarmsift.simulate.spaces import draw_points

_FIRST = (
    "Amber",
    "Boreal",
    "Cobalt",
    "Dune",
    "Ember",
    "Fjord",
    "Granite",
    "Harrow",
    "Indigo",
    "Juniper",
    "Kestrel",
    "Lantern",
    "Marram",
    "Nimbus",
    "Osprey",
    "Pumice",
)
_SECOND = ("Heron", "Meridian", "Tern", "Passage", "Willow", "Sound", "Cape", "Lark", "Reach")

# Mean number of each fault in 60 days on a ship that has it, and the share of ships that have it.
FAULTS: dict[str, tuple[float, float]] = {
    "gas": (7.0, 1.0),
    "ambient_vapour": (1.8, 0.65),
    "water": (5.0, 0.75),
    "blocked": (3.5, 0.8),
    "moisture": (5.0, 0.75),
    "carry_over": (2.2, 0.55),
    "zero_drift": (2.2, 0.7),
    "test_gas": (4.0, 0.7),
    "spike": (5.0, 0.75),
    "tight_setpoint": (3.0, 0.7),
    "pump": (1.3, 0.5),
    "air_leak": (1.2, 0.5),
    "left_disconnected": (2.0, 0.6),
    "not_sampled": (1.5, 0.5),
    "no_alarm": (1.3, 0.5),
    "low_sensitivity": (1.2, 0.45),
}


def draw_settings(seed: int, *, days: float = 60.0) -> ShipSettings:
    """Return one ship; the same seed gives the same ship.

    Parameters
    ----------
    seed : int
        Names the ship.
    days : float
        Length of its log [d].
    """
    rng = np.random.default_rng([seed, 101])
    reference = bool(rng.random() < 0.6)
    points = draw_points(rng, int(rng.integers(9, 32)), reference=reference)
    points = _share_out(rng, points)
    gases = _gases(rng)
    cycle_min, each = float(rng.uniform(6.0, 27.0)), _most_points(points)
    dwell_s = float(np.clip(cycle_min * 60.0 / each, 25.0, 27.0 * 60.0 / each))
    dwell_s = min(dwell_s, 150.0)
    fitted = _pump_and_cell(rng, points, dwell_s)
    habits = replace(_habits(rng, gases), primed=bool(fitted["primed"]))
    noise = {"HC": rng.uniform(0.08, 0.6), "H2S": rng.uniform(0.04, 0.25), "O2": 0.05, "CO": 0.6}
    low = {
        "HC": rng.choice([20.0, 30.0, 40.0, 50.0]),
        "H2S": rng.choice([10.0, 15.0, 25.0]),
        "O2": 0.0,
        "CO": 50.0,
    }
    hour = float(rng.integers(0, 24))
    # Quiet ships and ships where nothing works: how much more or less happens than usual.
    busy = float(rng.uniform(0.35, 1.25))
    clock, changes = _clock(rng, days)
    changes = changes if habits.logging != "none" else ()  # a change must be written somewhere
    return ShipSettings(
        seed=seed,
        days=days,
        start=pd.Timestamp("2026-01-03", tz="UTC")
        + pd.Timedelta(days=int(rng.integers(0, 200)), hours=hour),
        name=f"MT {rng.choice(_FIRST)} {rng.choice(_SECOND)}",
        points=tuple(points),
        gases=gases,
        setpoints=tuple(_setpoints(rng, points, gases)),
        dwell_s=dwell_s,
        free_flow=float(fitted["free_flow"]),
        dead_head=float(fitted["dead_head"]),
        lag_s=float(fitted["lag_s"]),
        carry_over=float(fitted["carry_over"]),
        noise={gas: float(noise[gas]) for gas in gases},
        sour=float(rng.uniform(0.15, 1.6)) if rng.random() < 0.55 else 0.0,
        span_gas={gas: float(low[gas]) for gas in gases},
        low_flow_limit=float(fitted["low_flow_limit"]),
        calibration_days=float(rng.choice([7.0, 14.0, 14.0, 30.0, 30.0, 30.0])),
        clock=clock,
        clock_changes=changes,
        habits=habits,
        expected={
            name: busy * mean if rng.random() < share else 0.0
            for name, (mean, share) in FAULTS.items()
        },
    )


def _share_out(rng: np.random.Generator, points: list[PointPlan]) -> list[PointPlan]:
    """Give a few ships a second analyser for the aft spaces."""
    if rng.random() > 0.12 or len(points) < 14:
        return points
    border = len(points) // 2
    return [replace(p, analyser="A1" if p.order <= border else "A2") for p in points]


def _most_points(points: list[PointPlan]) -> int:
    names = [p.analyser for p in points]
    return max(names.count(name) for name in set(names))


def _gases(rng: np.random.Generator) -> tuple[str, ...]:
    chance = rng.random()
    if chance < 0.15:
        return ("HC",)
    if chance < 0.75:
        return ("HC", "H2S")
    return ("HC", "H2S", "O2") if chance < 0.9 else ("HC", "H2S", "O2", "CO")


def _pump_and_cell(
    rng: np.random.Generator, points: list[PointPlan], dwell_s: float
) -> dict[str, float]:
    length = np.array([p.length_m for p in points])
    bore = np.array([p.bore_mm for p in points])
    resistance, volume = clean_resistance(length, bore), line_volume(length, bore)
    target = float(rng.uniform(4.0, 20.0))  # [L/min] at the median line
    dead_head = float(rng.uniform(22.0, 45.0))
    total = 1.15 * float(np.median(resistance))
    lost = min(target * total / dead_head, 0.7)  # share of the lift that the line takes
    target = lost * dead_head / total
    free_flow = target / (1.0 - lost)
    flow = (
        free_flow
        * dead_head
        / (dead_head + free_flow * (resistance + 0.15 * np.median(resistance)))
    )
    primed = bool((volume / flow * 60.0).max() > 0.65 * dwell_s) or rng.random() < 0.2
    transit = volume * (0.15 if primed else 1.0) / flow * 60.0
    slack = max(dwell_s - float(np.median(transit)), 5.0)
    tight = max(dwell_s - float(transit.max()), 4.0)
    carry_over = float(rng.choice([0.0005, 0.005, 0.015, 0.03, 0.06]) * rng.uniform(0.5, 1.0))
    lag = min(slack / -np.log(carry_over), tight / -np.log(min(3.0 * carry_over, 0.3)))
    return {
        "free_flow": free_flow,
        "dead_head": dead_head,
        "lag_s": lag,
        "carry_over": carry_over,
        "primed": float(primed),
        "low_flow_limit": round(float(flow.min() * rng.uniform(0.5, 0.75)), 1),
    }


def _setpoints(
    rng: np.random.Generator, points: list[PointPlan], gases: tuple[str, ...]
) -> list[SetpointPlan]:
    low, high = float(rng.choice([10.0, 10.0, 15.0, 20.0])), float(rng.choice([25.0, 30.0, 30.0]))
    band = float(rng.choice([0.0, 0.5, 1.0, 1.0, 2.0]))
    confirm = 2 if rng.random() < 0.08 else 1
    out = [
        SetpointPlan("HC", "low", low, band, confirm_visits=confirm),
        SetpointPlan("HC", "high", high, band, confirm_visits=confirm),
    ]
    if rng.random() < 0.1:
        out = out[1:]  # one level only
    if low > 10.0 and rng.random() < 0.7:
        out += (
            [
                SetpointPlan("HC", "low", 10.0, band, point=p.name)
                for p in points
                if p.kind == "pump_room"
            ]
            if out[0].level == "low"
            else []
        )
    if "H2S" in gases:
        small = float(rng.choice([0.0, 0.2, 0.5, 1.0]))
        out += [
            SetpointPlan("H2S", "low", float(rng.choice([5.0, 5.0, 8.0])), small),
            SetpointPlan("H2S", "high", float(rng.choice([10.0, 10.0, 15.0])), small),
        ]
    if "O2" in gases:
        out.append(SetpointPlan("O2", "low", 19.5, 0.2, direction="falling"))
    if "CO" in gases:
        out += [SetpointPlan("CO", "low", 25.0, 2.0), SetpointPlan("CO", "high", 50.0, 2.0)]
    if rng.random() < 0.15:  # levels have other names on other systems
        other = {"low": "al1", "high": "al2"}
        out = [replace(plan, level=other[plan.level]) for plan in out]
    return out


def _habits(rng: np.random.Generator, gases: tuple[str, ...]) -> Habits:
    chance = {
        "unit": 0.8,
        "status": 0.7,
        "flow": 0.75,
        "suction": 0.6,
        "temperature": 0.3,
        "humidity": 0.2,
        "analyser": 0.3,
    }
    columns = tuple(name for name, p in chance.items() if rng.random() < p)
    tables = {"points": 0.7, "setpoints": 0.75, "findings": 0.35}
    low_flow = str(rng.choice(["sample", "last", "fault"], p=[0.6, 0.2, 0.2]))
    step = {
        "HC": rng.choice([0.1, 0.5, 1.0]),
        "H2S": rng.choice([0.1, 0.1, 1.0]),
        "O2": 0.1,
        "CO": 1.0,
    }
    tables_kept = tuple(name for name, p in tables.items() if rng.random() < p)
    return Habits(
        columns=columns,
        tables=tables_kept,
        display_step={gas: float(step[gas]) for gas in gases},
        clips_negative=bool(rng.random() < 0.5),
        logging=str(rng.choice(["complete", "sloppy", "none"], p=[0.45, 0.4, 0.15])),
        latched=bool(rng.random() < 0.25),
        not_sampled_rows=bool(rng.random() < 0.4),
        stands_still=bool(rng.random() < 0.55),
        marks_tests=bool(rng.random() < 0.55) and "status" in columns,
        gauge=str(rng.choice(["line", "pump"])),
        primed=False,
        low_flow_shows=low_flow if low_flow != "fault" or "status" in columns else "sample",
        time_step_s=60 if rng.random() < 0.2 else 1,
        utc_times=bool(rng.random() < 0.5),
        clears_on_disconnect=bool(rng.random() < 0.6),
        logs_acknowledge=bool(rng.random() < 0.75),
        alarm_lag_s=float(rng.choice([0.0, 0.0, 0.0, 2.0, 20.0])),
        repeats_raise=bool(rng.random() < 0.12),
        names_spaces=bool("points" in tables_kept and rng.random() < 0.15),
        loses_rows=bool(rng.random() < 0.3),
        thin_events=bool(rng.random() < 0.25),
    )


def _clock(rng: np.random.Generator, days: float) -> tuple[str, tuple[tuple[float, float], ...]]:
    offset = int(rng.integers(-5, 10))
    clock = "UTC" if offset == 0 else f"UTC{offset:+d}"
    if rng.random() < 0.6:
        return clock, ()
    step = int(rng.choice([-1, 1]))
    when = float(rng.uniform(0.2, 0.8)) * days * 24.0
    return clock, ((float(round(when)), float(offset + step)),)
