"""Weights of evidence measured on ships with known truth, held near the judged ones.

``python -m tests.measure.fit_weights FOLDER [FOLDER ...] [--write]``

Each FOLDER holds ships (``logs/`` and ``truth/`` in each). The weights in the sign files are the
starting point and the centre of a Gaussian prior, so that a weight moves only as far as the ships
insist; a weight never changes its sign, since physics gave it. Only pairs of sign and cause that
the sign files already name are fitted. ``--write`` puts the result back into the sign files,
rounded to half a deciban and stretched by ``STRETCH``, for the prior makes them timid.
"""

from __future__ import annotations

import argparse
import re
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.optimize import minimize

import alarmsift.signs
from alarmsift.pipeline.diagnose import measured
from alarmsift.pipeline.signs_read import all_signs, weights_table
from alarmsift.pipeline.verdicts import all_causes, judge
from alarmsift.reading.folder import read_logs
from alarmsift.tables.schema import UNDETERMINED
from tests.measure.score import matched

DECIBAN = np.log(10.0) / 10.0
# How far a measured weight may stray from the judged one: one standard deviation [decibans].
STRAY = 8.0
# How much more real gas counts than nuisance; 1 = as it comes, since the guards and the bound of
# "nuisance" keep it safe, not the weights.
REAL_COUNTS = 1.0
# The prior leaves probabilities too timid by about this factor on ships that the fit did not see.
STRETCH = 1.3

# The least part of a judged weight that stays whatever the ships say: signs that measure nearly the
# same would otherwise leave all to one of them.
LEAST_KEPT = 0.4
# Gas is the measure of the other priors; a pump fault never competes with it [decibans].
PRIOR_BOUNDS = {"gas": (0.0, 0.0), "pump": (-12.0, 12.0)}


def one_ship(folder: Path) -> tuple[np.ndarray, np.ndarray, pd.DataFrame]:
    """Return strengths (E, S), whether fault (E,), and truth and weight of each episode."""
    logs = read_logs(folder / "logs")
    ship, table, _ = measured(logs)
    verdicts = judge(ship, table)
    episodes = table[["kind", "point", "gas", "level", "raised"]].copy()
    episodes["episode"] = np.arange(len(table))
    for name in ("cause", "probability", "p_gas", "treat_as", "runner_up"):
        episodes[name] = verdicts.table[name].to_numpy()
    truth = pd.read_csv(folder / "truth" / "episodes.csv", dtype=str, keep_default_na=False)
    rows = matched(episodes, truth, folder.name)
    rows = rows[rows["found"] & (rows["truth"] != UNDETERMINED)]
    at = rows["episode"].to_numpy(int)
    return verdicts.scaled[at], verdicts.table["is_fault"].to_numpy()[at], rows


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args(arguments)
    ships = [p for f in options.folders for p in sorted(f.iterdir()) if (p / "truth").is_dir()]
    with ProcessPoolExecutor(2) as pool:
        parts = list(pool.map(one_ship, ships))
    strength = np.concatenate([p[0] for p in parts])
    is_fault = np.concatenate([p[1] for p in parts])
    rows = pd.concat([p[2] for p in parts], ignore_index=True)
    fitted, prior = fit(strength, is_fault, rows)
    show(fitted, prior)
    if options.write:
        write(fitted)
    return 0


def fit(
    strength: np.ndarray, is_fault: np.ndarray, rows: pd.DataFrame
) -> tuple[pd.DataFrame, pd.Series]:
    """Return the weights table with fitted numbers, and fitted priors by cause."""
    causes, signs = all_causes(), all_signs()
    keys = [cause.key for cause in causes]
    table = weights_table(signs)
    s_index = {sign.key: i for i, sign in enumerate(signs)}
    sign = table["sign"].map(s_index).to_numpy(int)
    cause = table["cause"].map({k: i for i, k in enumerate(keys)}).to_numpy(int)
    wanted = np.where(is_fault, "fault", "alarm")
    applies = np.array([s.applies for s in signs])
    live = np.nan_to_num(strength)
    live *= (applies[None, :] == "both") | (applies[None, :] == wanted[:, None])
    up, down = np.clip(live, 0, 1)[:, sign], np.clip(-live, 0, 1)[:, sign]
    c_applies = np.array([c.applies for c in causes])
    allowed = (c_applies[None, :] == "both") | (c_applies[None, :] == wanted[:, None])
    target = rows["truth"].map({k: i for i, k in enumerate(keys)}).to_numpy(int)
    weight = rows["weight"].to_numpy(float)
    weight = weight * np.where(rows["truth"].isin(["gas", "ambient_vapour"]), REAL_COUNTS, 1.0)
    # No cause may rule by its number alone.
    share = np.bincount(target, weight, len(keys))
    weight = weight * (share.sum() / np.maximum(share, 1.0) / len(keys))[target] ** 0.5
    start = (
        np.concatenate([table["present"], table["absent"], [c.prior for c in causes]]).astype(float)
        / STRETCH
    )
    n = len(table)
    onto = np.zeros((n, len(keys)))
    onto[np.arange(n), cause] = 1.0

    def loss(x: np.ndarray) -> tuple[float, np.ndarray]:
        score = (up * x[:n] + down * x[n : 2 * n]) @ onto + x[2 * n :]
        score = np.where(allowed, score * DECIBAN, -1e9)
        score -= score.max(axis=1, keepdims=True)
        p = np.exp(score)
        p /= p.sum(axis=1, keepdims=True)
        nll = -(weight * np.log(np.maximum(p[np.arange(len(p)), target], 1e-12))).sum()
        gap = p.copy()
        gap[np.arange(len(p)), target] -= 1.0
        gap *= weight[:, None] * DECIBAN
        of_weight = gap[:, cause]
        grad = np.concatenate(
            [(of_weight * up).sum(axis=0), (of_weight * down).sum(axis=0), gap.sum(axis=0)]
        )
        stray = (x - start) / STRAY**2
        return nll + 0.5 * float((stray * (x - start)).sum()), grad + stray

    bounds = [_bounds(v) for v in start[: 2 * n]]
    # Before anything is known, nothing is likelier than gas.
    bounds += [PRIOR_BOUNDS.get(key, (-12.0, 0.0)) for key in keys]
    result = minimize(loss, start, jac=True, method="L-BFGS-B", bounds=bounds)
    out = table.assign(new_present=result.x[:n], new_absent=result.x[n : 2 * n])
    return out, pd.Series(result.x[2 * n :], index=keys)


def _bounds(judged: float) -> tuple[float, float]:
    """Return how far a weight may go: it keeps its sign, and a part of what physics gave it."""
    if judged == 0.0:
        return 0.0, 0.0
    floor = LEAST_KEPT * judged
    return (floor, 30.0) if judged > 0 else (-30.0, floor)


def show(fitted: pd.DataFrame, prior: pd.Series) -> None:
    """Print the weights that moved by two decibans or more, and the priors."""
    moved = (fitted["new_present"] - fitted["present"]).abs().ge(2) | (
        fitted["new_absent"] - fitted["absent"]
    ).abs().ge(2)
    columns = ["sign", "cause", "present", "new_present", "absent", "new_absent"]
    print(fitted.loc[moved, columns].round(1).to_string())
    print(prior.round(1).to_string())


def write(fitted: pd.DataFrame) -> None:
    """Put the fitted numbers into the sign files."""
    folder = Path(alarmsift.signs.__path__[0])
    for row in fitted.itertuples(index=False):
        path = folder / f"{row.sign}.py"
        text = path.read_text(encoding="utf-8")
        numbers = [f"{round(v * STRETCH * 2) / 2:g}" for v in (row.new_present, row.new_absent)]
        pattern = re.compile(rf'(Weight\(\s*"{row.cause}",\s*)[-\d.]+,\s*[-\d.]+,')
        text = pattern.sub(rf"\g<1>{numbers[0]}, {numbers[1]},", text, count=1)
        path.write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    raise SystemExit(main())
