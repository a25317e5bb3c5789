"""False changes, found steps, people's marks and time: ``python -m tests.measure.changes``.

Every course is made here, seeded: noise of several kinds, drift, swing and sums of these, of 50 to
5000 rows, in which nothing changes (false changes a series); then the same with steps of known
size (share found within ten rows, and false changes beside them). Sizes are in standard deviations
of the noise. Series marked by people come from the package `river`, where it is installed; Nile
from `statsmodels`.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from alarmsift.evidence.steps import change_points
from tests.published.test_published_changes import f1, marked

Floats = NDArray[np.float64]
Course = Callable[[np.random.Generator, int], Floats]

MARGIN: Final = 10  # [rows]
SIZES: Final = (1.5, 2.0, 3.0, 4.0, 5.0)  # [-] noise standard deviations
SIDES: Final = (20, 40, 100, 300)  # [rows] on the shorter side of a step


def white(rng: np.random.Generator, rows: int) -> Floats:
    """Independent normal noise."""
    return rng.normal(size=rows)


def persistent(rng: np.random.Generator, rows: int, phi: float | None = None) -> Floats:
    """Noise of which each reading keeps a share, unit variance."""
    phi = float(rng.uniform(0.2, 0.8)) if phi is None else phi
    noise = lfilter([1.0], [1.0, -phi], rng.normal(size=rows + 200))[200:]
    return np.asarray(noise * np.sqrt(1.0 - phi**2))


def heavy(rng: np.random.Generator, rows: int) -> Floats:
    """Noise with far outliers: Student's t of two to five degrees, or Laplace."""
    if rng.random() < 0.3:
        return rng.laplace(size=rows) / np.sqrt(2.0)
    return rng.standard_t(rng.uniform(2.0, 5.0), size=rows)


def skewed(rng: np.random.Generator, rows: int) -> Floats:
    """Noise that reaches far to one side only: exponential or lognormal."""
    return rng.exponential(size=rows) if rng.random() < 0.5 else rng.lognormal(0.0, 0.8, rows)


def rounded(rng: np.random.Generator, rows: int) -> Floats:
    """Noise shown in few levels."""
    noise = white(rng, rows) if rng.random() < 0.5 else persistent(rng, rows)
    return np.round(rng.choice([0.2, 0.35, 0.6, 1.0, 2.0]) * noise + rng.random())


def rounded_course(rng: np.random.Generator, rows: int) -> Floats:
    """A slow drift or swing of a few display steps, with little noise: it goes up in stairs."""
    at = np.linspace(0.0, 1.0, rows)
    slow = at if rng.random() < 0.5 else np.sin(2 * np.pi * (rng.uniform(1, 8) * at + rng.random()))
    return np.round(rng.uniform(0.5, 10) * slow + rng.uniform(0, 0.4) * white(rng, rows))


def any_noise(rng: np.random.Generator, rows: int) -> Floats:
    """One of the kinds above."""
    return (white, persistent, heavy, skewed)[rng.integers(4)](rng, rows)


def drift(rng: np.random.Generator, rows: int) -> Floats:
    """A slow course over the whole series: straight, bent, fading or turning."""
    at = np.linspace(0.0, 1.0, rows)
    shape = (at, at**2, np.exp(-rng.uniform(2, 6) * at), np.sqrt(at), at * (1 - at) * 4)
    return np.asarray(rng.choice([-1, 1]) * 10 ** rng.uniform(0, 2) * shape[rng.integers(5)])


def swing(rng: np.random.Generator, rows: int) -> Floats:
    """A daily swing with a weaker second tone, 24 to 1440 rows a day."""
    day = float(rng.choice([24, 48, 96, 144, 288, 1440]))
    turn = 2 * np.pi * (np.arange(rows) / day + rng.random())
    second = rng.uniform(0, 0.4) * np.sin(2 * turn + 6 * rng.random())
    return np.asarray(10 ** rng.uniform(-0.3, 1.2) * (np.sin(turn) + second))


def spiked(rng: np.random.Generator, rows: int) -> Floats:
    """Noise with isolated spikes of one or two rows, up to one row in twenty."""
    series = any_noise(rng, rows)
    at = np.flatnonzero(rng.random(rows) < 10 ** rng.uniform(-3, -1.3))
    series[at] += rng.choice([-1, 1]) * 10 ** rng.uniform(0.7, 2.5, len(at))
    return series


def gappy(rng: np.random.Generator, rows: int) -> Floats:
    """Noise with missing rows, single and in runs."""
    series = any_noise(rng, rows)
    series[rng.random(rows) < rng.uniform(0, 0.5)] = np.nan
    for _ in range(rng.integers(4)):
        start = rng.integers(rows)
        series[start : start + rng.integers(1, rows // 5)] = np.nan
    return series


def summed(rng: np.random.Generator, rows: int) -> Floats:
    """Noise, drift and swing together, now and then rounded and with gaps."""
    series = any_noise(rng, rows) + drift(rng, rows) + swing(rng, rows)
    if rng.random() < 0.3:
        series = np.round(series / 2.0) * 2.0
    return np.where(rng.random(rows) < 0.05, np.nan, series) if rng.random() < 0.3 else series


def several(rng: np.random.Generator, rows: int) -> Floats:
    """Two to eight sensors, one of them perhaps dead and one silent."""
    table = np.column_stack(
        [QUIET[list(QUIET)[rng.integers(10)]](rng, rows) for _ in range(rng.integers(2, 9))]
    )
    table[:, 0] = rng.choice([np.nan, 0.0, 1.0]) if rng.random() < 0.5 else table[:, 0]
    return table


QUIET: Final[dict[str, Course]] = {
    "white": white,
    "persistent .2-.8": persistent,
    "persistent .9": lambda rng, rows: persistent(rng, rows, 0.9),
    "rounded to few levels": rounded,
    "rounded drift or swing": rounded_course,
    "heavy-tailed": heavy,
    "skewed": skewed,
    "slow drift": lambda rng, rows: white(rng, rows) + drift(rng, rows),
    "daily swing": lambda rng, rows: white(rng, rows) + swing(rng, rows),
    "drift, persistent": lambda rng, rows: persistent(rng, rows) + drift(rng, rows),
    "swing, persistent": lambda rng, rows: persistent(rng, rows) + swing(rng, rows),
    "swing without noise": lambda rng, rows: 0.02 * white(rng, rows) + swing(rng, rows),
    "sums": summed,
    "spikes": spiked,
    "gaps": gappy,
    "slow wander": lambda rng, rows: (
        white(rng, rows) + 0.1 * np.cumsum(white(rng, rows)) / np.sqrt(rows / 100)
    ),
    "growing noise": lambda rng, rows: white(rng, rows) * np.linspace(1, rng.uniform(1, 8), rows),
    "two to eight sensors": several,
}

GROUNDS: Final[dict[str, Course]] = {
    "white": white,
    "persistent .5": lambda rng, rows: persistent(rng, rows, 0.5),
    "heavy-tailed": lambda rng, rows: rng.standard_t(3.0, rows) / np.sqrt(3.0),
    "rounded": white,  # rounded to 0.7 after the step
    "drift": lambda rng, rows: white(rng, rows) + 5.0 * np.linspace(0, 1, rows),
    "swing": lambda rng, rows: white(rng, rows) + 2.0 * np.sin(np.arange(rows) * np.pi / 72),
    "half missing": white,  # blanked after the step
    "spikes": lambda rng, rows: np.where(rng.random(rows) < 0.02, 30.0, white(rng, rows)),
    "four sensors, one steps": lambda rng, rows: rng.normal(size=(rows, 4)),
    "four sensors, all step": lambda rng, rows: rng.normal(size=(rows, 4)),
}


def stepped(
    rng: np.random.Generator, name: str, edges: Iterable[int], rows: int, size: float
) -> Floats:
    """Return a ground with steps of one size, up or down, at the given rows."""
    series = GROUNDS[name](rng, rows)
    level = np.zeros(rows)
    for at in edges:
        level[at:] += size * rng.choice([-1, 1])
    if name == "four sensors, one steps":
        series[:, 2] += level
    elif series.ndim == 2:
        series = series + level[:, None] * rng.choice([-1, 1], 4)
    else:
        series = series + level
    if name == "rounded":
        series = np.round(series / 0.7) * 0.7
    if name == "half missing":
        series[rng.random(rows) < 0.5] = np.nan
    return series


def hits(true: list[int], found: list[int]) -> int:
    """Count the true steps that have a found one of their own within the margin."""
    left, count = list(found), 0
    for at in true:
        near = [one for one in left if abs(one - at) <= MARGIN]
        if near:
            count += 1
            left.remove(min(near, key=lambda one: abs(one - at)))
    return count


def false_changes(series: int, seed: int) -> None:
    """Print false changes a series, by kind and by length."""
    bands = ((50, 200), (200, 1000), (1000, 5000))
    print(f"{'false changes a series':28}", *(f"{a}-{b}".rjust(10) for a, b in bands), "all")
    for name, course in QUIET.items():
        rng = np.random.default_rng(seed)
        means = [
            np.mean(
                [
                    len(change_points(course(rng, int(np.exp(rng.uniform(*np.log(band)))))))
                    for _ in range(series // len(bands))
                ]
            )
            for band in bands
        ]
        print(f"{name:28}", *(f"{mean:10.3f}" for mean in means), f"{np.mean(means):.3f}")


def recall(series: int, seed: int) -> None:
    """Print the share of single steps found, by size and by rows on the shorter side."""
    for name in GROUNDS:
        rng = np.random.default_rng(seed)
        print(f"\n{name}: steps found, by size", *(f"{size:7}" for size in SIZES), "false")
        for side in SIDES:
            shares, extra = [], []
            for size in SIZES:
                found = []
                for _ in range(series):
                    long = side * int(rng.integers(1, 11))
                    at = side if rng.random() < 0.5 else long
                    where = change_points(stepped(rng, name, [at], side + long, size))
                    found.append(hits([at], where))
                    extra.append(len(where) - found[-1])
                shares.append(np.mean(found))
            shown = " ".join(f"{share:7.2f}" for share in shares)
            print(f"{side:6} rows on the shorter side {shown} {np.mean(extra):7.3f}")


def several_steps(series: int, seed: int) -> None:
    """Print how many of four to eight steps in one series are found, and false ones."""
    print("\nfour to eight steps, 25-200 rows apart:  found  false a series")
    for name in GROUNDS:
        rng = np.random.default_rng(seed)
        for size in (2.0, 3.0, 5.0):
            total = found = false = 0
            for _ in range(series):
                edges = [int(at) for at in np.cumsum(rng.integers(25, 200, rng.integers(5, 10)))]
                where = change_points(stepped(rng, name, edges[:-1], edges[-1], size))
                hit = hits(edges[:-1], where)
                total, found, false = total + len(edges) - 1, found + hit, false + len(where) - hit
            print(f"{name:28} size {size:3}  {found / total:10.2f} {false / series:10.3f}")


def people() -> None:
    """Print the score against people's marks, and the known break of the Nile."""
    from statsmodels.datasets import nile

    print("\nNile:", change_points(nile.load_pandas().data["volume"].to_numpy()), "asked: [28]")
    for name in ("Occupancy", "RunLog"):
        table, marks = marked(name)
        found = change_points(table)
        print(f"{name}: F1 {f1(marks, found):.3f}, doing nothing {f1(marks, []):.3f}; {found}")


def seconds() -> None:
    """Print the time for long series."""
    rng = np.random.default_rng(1)
    for rows, sensors in ((5_000, 1), (5_000, 8), (100_000, 1), (100_000, 8)):
        table = (
            rng.normal(size=(rows, sensors)) + np.repeat(rng.normal(size=10), rows // 10)[:, None]
        )
        begun = time.perf_counter()
        change_points(table)
        print(f"{rows} rows, {sensors} sensors: {time.perf_counter() - begun:.2f} s")


def main() -> None:
    """Measure what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--series", type=int, default=1000, help="quiet series of each kind")
    parser.add_argument("--stepped", type=int, default=100, help="series of each size of step")
    parser.add_argument("--seed", type=int, default=9000)
    parser.add_argument("--only", choices=("false", "found", "several", "people", "time"))
    asked = parser.parse_args()
    if asked.only in (None, "people"):
        people()
    if asked.only in (None, "time"):
        seconds()
    if asked.only in (None, "false"):
        false_changes(asked.series, asked.seed)
    if asked.only in (None, "found"):
        recall(asked.stepped, asked.seed)
    if asked.only in (None, "several"):
        several_steps(asked.stepped, asked.seed)


if __name__ == "__main__":
    main()
