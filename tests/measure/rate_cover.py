"""How often the interval of an alarm rate holds the truth: ``python -m tests.measure.rate_cover``.

Long series of readings (noise with and without memory, a swing by day, a background that comes
and goes for days) raise alarms at a setpoint. The rate over all of it is the truth; the series is
split into histories of 60, 90 and 365 days, and the interval of each is asked for it.
"""

from __future__ import annotations

import argparse

import numpy as np
import pandas as pd
from scipy.signal import lfilter

from alarmsift.setpoints.interval import rate_interval

VISITS = 72  # a day: a round of 20 min
PER_30D = (1.0, 3.0, 10.0, 30.0, 100.0)
PIECES = (60, 90, 365)


def noise(rng: np.random.Generator, days: int, memory: float) -> np.ndarray:
    """Return AR(1) readings of unit variance, shape (days * VISITS,)."""
    fresh = rng.standard_normal(days * VISITS) * np.sqrt(1.0 - memory**2)
    return np.asarray(lfilter([1.0], [1.0, -memory], fresh))


def kinds(rng: np.random.Generator, days: int) -> dict[str, np.ndarray]:
    """Return the series by name."""
    time = np.arange(days * VISITS) / VISITS
    hold = [np.zeros(0)]
    while sum(map(len, hold)) < days * VISITS:
        away, here = rng.exponential(12.0) * VISITS, rng.exponential(6.0) * VISITS
        hold += [np.zeros(int(away)), np.ones(int(here))]
    stay = np.concatenate(hold)[: days * VISITS]
    out = {f"memory {phi:g}": noise(rng, days, phi) for phi in (0.0, 0.5, 0.9, 0.97)}
    out["swing by day"] = noise(rng, days, 0.3) + np.sin(2 * np.pi * time)
    out["comes and goes"] = noise(rng, days, 0.3) + 4.0 * stay
    return out


def at_rate(series: np.ndarray, per_30d: float) -> np.ndarray:
    """Return the raises of each day at the setpoint that raises about so often, shape (days,)."""
    low, high = float(np.quantile(series, 0.9)), float(series.max())
    for _ in range(25):
        middle = (low + high) / 2.0
        daily = raises(series, middle)
        low, high = (middle, high) if daily.mean() * 30.0 > per_30d else (low, middle)
    return raises(series, high)


def raises(series: np.ndarray, limit: float) -> np.ndarray:
    """Return the raises of each day over a limit, shape (days,)."""
    over = series >= limit
    up = over & ~np.concatenate([[False], over[:-1]])
    return np.asarray(up.reshape(-1, VISITS).sum(axis=1))


def cover(daily: np.ndarray, days: int) -> tuple[float, float, float]:
    """Return the share of histories whose interval holds the true rate, and where it lies else."""
    true = daily.mean() * 30.0
    rows = daily[: len(daily) // days * days].reshape(-1, days)
    ends = [rate_interval(row[None, :], np.ones(days)) for row in rows]
    low, high = np.array(ends)[:, :, 0].T
    return (
        float(((low <= true) & (true <= high)).mean()),
        float((true < low).mean()),
        float((true > high).mean()),
    )


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--histories", type=int, default=300, help="of 90 days, a series")
    parser.add_argument("--first-seed", type=int, default=9000)
    options = parser.parse_args(arguments)
    rng = np.random.default_rng(options.first_seed)
    rows = []
    for name, series in kinds(rng, 90 * options.histories).items():
        for rate in PER_30D:
            daily = at_rate(series, rate)
            for days in PIECES:
                held, below, above = cover(daily, days)
                rows.append((name, rate, days, held, below, above))
    table = pd.DataFrame(rows, columns=["readings", "in 30 d", "days", "held", "under", "over"])
    by = table.set_index(["readings", "in 30 d", "days"])["held"].unstack(sort=False)
    print(by.round(3).to_string())
    print(table.groupby("days")[["held", "under", "over"]].mean().round(3).to_string())
    print(f"all: held {table['held'].mean():.3f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
