"""Accuracy on ships with known truth: ``python -m tests.measure.accuracy --ships 20 --days 60``.

Simulates fresh ships, diagnoses them and prints confusion, macro-F1, what happened to real gas,
how nuisance was settled, calibration and conditions. ``--folders`` scores log folders that
something else made (each with ``logs/`` and ``truth/`` in it) instead.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.reading.folder import read_logs
from tests.measure.line_truth import asked_for, traceless
from tests.measure.logged_truth import as_logged, unseen
from tests.measure.score import Score, condition_table, match_conditions, matched, score


def one_folder(
    logs_folder: Path, truth: Path, name: str
) -> tuple[pd.DataFrame, pd.DataFrame, float]:
    """Return matched episodes, matched conditions and point-months of one ship."""
    logs = read_logs(logs_folder)
    result = diagnose(logs)
    episodes = pd.read_csv(truth / "episodes.csv", dtype={"gas": str}, keep_default_na=False)
    ends = (logs.readings["time"].min(), logs.readings["time"].max())
    conditions = pd.read_csv(truth / "conditions.csv")
    shown, conditions = asked_for(result.conditions, conditions, logs, result.cycle_minutes)
    shown, conditions = as_logged(shown, conditions, logs)
    rows = matched(result.episodes, episodes, name)
    months = len(result.points) * (ends[1] - ends[0]) / pd.Timedelta(days=30)
    matches = match_conditions(shown, conditions, ends).assign(ship=name)
    matches = matches[~_allowed(matches, truth / "allowed.csv", ends[0])]
    lost = matches["kind"] == "missed"
    matches.loc[lost, "kind"] = np.where(
        unseen(matches[lost], logs) | traceless(matches[lost], ends[0], logs), "unseen", "missed"
    )
    return rows, matches, float(months)


def _allowed(matches: pd.DataFrame, listed: Path, start: pd.Timestamp) -> np.ndarray:
    """Tell which false reports touch a span that the truth leaves open, shape (n,).

    A truth may list spans in which a condition is a matter of definition (``allowed.csv``).
    """
    out = np.zeros(len(matches), bool)
    if not listed.exists():
        return out
    spans = pd.read_csv(listed)
    hours = [
        (pd.to_datetime(spans[name], utc=True, format="ISO8601") - start) / pd.Timedelta(hours=1)
        for name in ("start", "end")
    ]
    spans = spans.assign(a=hours[0], b=hours[1].fillna(np.inf))
    for row, (kind, point, condition, a, b) in enumerate(
        matches[["kind", "point", "condition", "start", "end"]].itertuples(index=False)
    ):
        same = spans[(spans["point"] == point) & (spans["condition"] == condition)]
        out[row] = kind == "false" and bool(((same["a"] < b) & (same["b"] > a)).any())
    return out


def one_seed(
    seed: int, days: float, drop: tuple[str, ...], tables: tuple[str, ...]
) -> tuple[pd.DataFrame, pd.DataFrame, float]:
    """Simulate one ship into a temporary folder and score it."""
    from alarmsift.simulate.degrade import without
    from alarmsift.simulate.ship import draw_settings, simulate
    from alarmsift.simulate.write import write_ship

    with tempfile.TemporaryDirectory() as folder:
        ship = simulate(draw_settings(seed, days=days))
        if drop or tables:
            ship = without(ship, columns=drop, tables=tables)
        write_ship(ship, Path(folder))
        return one_folder(Path(folder), Path(folder) / "truth", f"seed {seed}")


def report(result: Score, conditions: pd.DataFrame) -> str:
    """Return the scores as text."""
    lines = [
        "Confusion (rows: truth, columns: verdict; in groups)",
        result.confusion.round(1).to_string(),
        "",
        "F1 by cause",
        result.f1.round(3).to_string(),
        "",
        f"groups                         {result.groups}",
        f"episodes not found             {result.not_found:.2%}",
        f"macro-F1                       {result.macro_f1:.3f}",
        f"real gas treated as nuisance   {result.real_lost} of {result.real_groups} groups "
        f"(95 % bound {result.real_bound:.2%})",
        f"nuisance called gas            {result.nuisance_called_gas:.2%}",
        f"nuisance settled               {result.nuisance_settled:.2%}",
        f"undetermined                   {result.undetermined:.2%}",
        f"calibration error              {result.calibration_error:.3f}",
        "",
        "Reliability (stated, right, weight)",
        result.curve.round(3).to_string(),
        "",
        "Conditions",
        conditions.round(3).to_string(),
    ]
    return "\n".join(lines)


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ships", type=int, default=20)
    parser.add_argument("--days", type=float, default=60.0)
    parser.add_argument("--first-seed", type=int, default=9000)
    parser.add_argument("--folders", type=Path, help="score ships made by something else")
    parser.add_argument("--without", nargs="*", default=[], help="reading columns to leave out")
    parser.add_argument("--without-tables", nargs="*", default=[], help="tables to leave out")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--save", type=Path, help="write the matched rows there as CSV")
    options = parser.parse_args(arguments)
    with ProcessPoolExecutor(options.jobs) as pool:
        if options.folders:
            ships = sorted(p for p in options.folders.iterdir() if (p / "truth").is_dir())
            jobs = [pool.submit(one_folder, p / "logs", p / "truth", p.name) for p in ships]
        else:
            seeds = range(options.first_seed, options.first_seed + options.ships)
            drop, tables = tuple(options.without), tuple(options.without_tables)
            jobs = [pool.submit(one_seed, s, options.days, drop, tables) for s in seeds]
        parts = [job.result() for job in tqdm(jobs, desc="Ships", file=sys.stderr)]
    rows = pd.concat([p[0] for p in parts], ignore_index=True)
    matches = pd.concat([p[1] for p in parts], ignore_index=True)
    if options.save:
        options.save.mkdir(parents=True, exist_ok=True)
        rows.to_csv(options.save / "episodes.csv", index=False)
        matches.to_csv(options.save / "conditions.csv", index=False)
    print(report(score(rows), condition_table(matches, sum(p[2] for p in parts))))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
