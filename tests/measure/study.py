"""How far the verdicts can be trusted: ``python -m tests.measure.study --ships 40 --days 60``.

Simulates fresh ships and judges each as it is, with poorer logs, and with every sign left out in
turn. Writes tables and pictures (confusion, reliability) into ``reports/accuracy``.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.diagnosis.weights import whole_table
from alarmsift.pipeline.diagnose import measured
from alarmsift.pipeline.signs_read import SignsRead, all_signs, read_signs, weights_table
from alarmsift.pipeline.verdicts import _verdicts, all_causes
from alarmsift.reading.folder import read_logs
from alarmsift.simulate.degrade import without
from alarmsift.simulate.shipshape import SimulatedShip
from tests.measure.score import Score, matched, score

OUT = Path(__file__).resolve().parents[2] / "reports" / "accuracy"
FULL = "as the ship logs"
VERDICT = ("cause", "probability", "p_gas", "treat_as", "runner_up")
# One unit of the display, as coarse recorders write it: %LFL, ppm, vol%.
ONE_UNIT = {"HC": 1.0, "H2S": 1.0, "CO": 1.0, "O2": 1.0}


def no_reference(ship: SimulatedShip) -> SimulatedShip:
    """Return the ship without its clean-air point."""
    gone = ship.settings.reference_point
    if gone is None:
        return ship

    def rest(frame: pd.DataFrame) -> pd.DataFrame:
        return frame[frame["point"] != gone].reset_index(drop=True)

    return replace(
        ship,
        tables={n: rest(f) if "point" in f else f for n, f in ship.tables.items()},
        truth_episodes=rest(ship.truth_episodes),
    )


def no_operations(ship: SimulatedShip) -> SimulatedShip:
    """Return the ship with no word of its work, but for its clock: the truth's times need that."""
    if "operations" not in ship.tables:
        return ship
    work = ship.tables["operations"]
    clock = work[work["action"] == "clock"].reset_index(drop=True)
    rest = {name: frame for name, frame in ship.tables.items() if name != "operations"}
    return replace(ship, tables={**rest, "operations": clock} if len(clock) else rest)


def only_in_alarm(ship: SimulatedShip) -> SimulatedShip:
    """Return the ship whose recorder wrote readings only while the point was in alarm."""
    readings, events = ship.tables["readings"], ship.tables["events"]
    alarms = events[(events["event"] == "alarm") & (events["state"].isin(["raised", "cleared"]))]
    both = pd.concat(
        [
            readings[["time", "point", "gas"]].assign(step=0, row=np.arange(len(readings))),
            alarms[["time", "point", "gas"]].assign(
                step=np.where(alarms["state"] == "raised", 1, -1), row=-1
            ),
        ]
    )
    both["at"] = pd.to_datetime(both["time"], utc=True, format="ISO8601", errors="coerce")
    # The reading that raised the alarm carries the same time as it.
    both = both.sort_values(["at", "row"], kind="stable")
    active = both.groupby(["point", "gas"], observed=True)["step"].cumsum()
    kept = both.loc[(both["row"] >= 0) & (active > 0), "row"].to_numpy(int)
    return replace(
        ship,
        tables={
            **ship.tables,
            "readings": readings.iloc[np.sort(kept)].reset_index(drop=True),
        },
    )


POORER: dict[str, Callable[[SimulatedShip], SimulatedShip]] = {
    FULL: lambda ship: ship,
    "no operations": no_operations,
    "rounded to one unit": lambda ship: without(ship, step=ONE_UNIT),
    "no reference point": no_reference,
    "no flow, no suction": lambda ship: without(ship, columns=("flow", "suction")),
    "half the readings": lambda ship: without(ship, keep_readings=0.5, seed=1),
    "readings only while in alarm": only_in_alarm,
}


def judged(
    read: SignsRead, table: pd.DataFrame, truth: pd.DataFrame, name: str, weights: pd.DataFrame
) -> pd.DataFrame:
    """Return the truth's episodes beside the verdicts under a table of weights."""
    verdicts = _verdicts(read, weights)  # by this table alone, not held to the built-in one
    episodes = table[["kind", "point", "gas", "level", "raised"]].copy()
    episodes["episode"] = np.arange(len(table))
    for column in VERDICT:
        episodes[column] = verdicts.table[column].to_numpy()
    return matched(episodes, truth, name)


def one_ship(seed: int, days: float, ablate: bool) -> dict[tuple[str, str], pd.DataFrame]:
    """Return matched episodes by (logs, sign left out) of one ship."""
    from alarmsift.simulate.ship import draw_settings, simulate
    from alarmsift.simulate.write import write_ship

    ship = simulate(draw_settings(seed, days=days))
    whole = whole_table(weights_table(all_signs()), all_causes())
    out = {}
    for name, poorer in POORER.items():
        with tempfile.TemporaryDirectory() as folder:
            write_ship(poorer(ship), Path(folder))
            truth = pd.read_csv(
                Path(folder) / "truth" / "episodes.csv", dtype=str, keep_default_na=False
            )
            shape, table, _ = measured(read_logs(Path(folder)))
        read = read_signs(shape, table)
        signs = [""] + ([s.key for s in all_signs()] if ablate and name == FULL else [])
        for sign in signs:
            muted = whole.copy()
            muted.loc[muted["sign"] == sign, ["present", "absent"]] = 0.0
            out[name, sign] = judged(read, table, truth, f"seed {seed}", muted)
    return out


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--ships", type=int, default=40)
    parser.add_argument("--days", type=float, default=60.0)
    parser.add_argument("--first-seed", type=int, default=9000)
    parser.add_argument("--no-ablation", action="store_true")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--out", type=Path, default=OUT)
    options = parser.parse_args(arguments)
    seeds = range(options.first_seed, options.first_seed + options.ships)
    with ProcessPoolExecutor(options.jobs) as pool:
        jobs = [pool.submit(one_ship, s, options.days, not options.no_ablation) for s in seeds]
        parts = [job.result() for job in tqdm(jobs, desc="Ships", file=sys.stderr)]
    scores = {key: score(pd.concat([p[key] for p in parts])) for key in parts[0]}
    write(scores, options)
    return 0


def poorer_table(scores: dict[tuple[str, str], Score]) -> pd.DataFrame:
    """Return a row a kind of logs."""
    return pd.DataFrame(
        {
            name: {
                "macro-F1": f"{s.macro_f1:.3f}",
                "real gas treated as nuisance": f"{s.real_lost} of {s.real_groups}",
                "nuisance called gas": f"{s.nuisance_called_gas:.1%}",
                "nuisance settled": f"{s.nuisance_settled:.1%}",
                "undetermined": f"{s.undetermined:.1%}",
                "calibration error": f"{s.calibration_error:.3f}",
            }
            for (name, sign), s in scores.items()
            if not sign
        }
    ).T


def ablation_table(scores: dict[tuple[str, str], Score]) -> pd.DataFrame:
    """Return what each sign carries: the figures without it less those with all of them."""
    full = scores[FULL, ""]
    rows = {
        sign: {
            "macro-F1": s.macro_f1 - full.macro_f1,
            "settled": s.nuisance_settled - full.nuisance_settled,
            "called gas": s.nuisance_called_gas - full.nuisance_called_gas,
            "real lost": s.real_lost - full.real_lost,
        }
        for (_, sign), s in scores.items()
        if sign
    }
    return pd.DataFrame(rows).T.sort_values("macro-F1") if rows else pd.DataFrame()


def write(scores: dict[tuple[str, str], Score], options: argparse.Namespace) -> None:
    """Write tables and pictures."""
    options.out.mkdir(parents=True, exist_ok=True)
    full = scores[FULL, ""]
    confusion_picture(full, options.out / "confusion.png")
    reliability_picture(full, options.out / "reliability.png")
    ablation = ablation_table(scores)
    last = options.first_seed + options.ships - 1
    lines = [
        "# How far the verdicts can be trusted",
        "",
        f"Measured on {options.ships} simulated ships of {options.days:g} days (seeds "
        f"{options.first_seed} to {last}) by `python -m tests.measure.study`. One group is one "
        "(ship, point, gas, level, cause, day). A real ship may differ from a simulated one: take "
        "these as what the method can do, not as a promise about your ship.",
        "",
        "## By the logs at hand",
        "",
        _markdown(poorer_table(scores)),
        "",
        f"With no real gas treated as nuisance among {full.real_groups} groups the share is below "
        f"{full.real_bound:.2%} (95 %)."
        if full.real_lost == 0
        else f"{full.real_lost} of {full.real_groups} groups of real gas were treated as nuisance "
        f"(below {full.real_bound:.2%}, 95 %).",
        "",
        "## Which cause is taken for which",
        "",
        "![Confusion: truth against verdict](confusion.png)",
        "",
        "## Does a stated 80 % come true in 80 of 100?",
        "",
        "![Reliability: stated probability against the share that was right](reliability.png)",
    ]
    if len(ablation):
        lines += [
            "",
            "## What each sign carries",
            "",
            "Change of the figures when the sign is left out, the worst first.",
            "",
            _markdown(ablation.map(lambda v: f"{v:+.4f}")),
        ]
    (options.out / "README.md").write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    print(poorer_table(scores).to_string())
    print(ablation.round(4).to_string())
    print(f"Written to {options.out}")


def _markdown(table: pd.DataFrame) -> str:
    head = ["", *table.columns]
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += [
        f"| {name} | " + " | ".join(map(str, row)) + " |" for name, *row in table.itertuples()
    ]
    return "\n".join(lines)


def confusion_picture(result: Score, path: Path) -> None:
    """Draw the confusion table, each row as shares of the truth."""
    from matplotlib.figure import Figure

    table = result.confusion
    share = table.div(table.sum(axis=1).replace(0, np.nan), axis=0).fillna(0.0)
    figure = Figure(figsize=(9.0, 6.8), layout="constrained")
    axes = figure.subplots()
    axes.imshow(share.to_numpy(), cmap="Greys", vmin=0.0, vmax=1.0, aspect="auto")
    for i, j in np.argwhere(table.to_numpy() >= 0.5):
        axes.text(
            j, i, f"{table.iat[i, j]:.0f}", ha="center", va="center", fontsize=9,
            color="white" if share.iat[i, j] > 0.5 else "black",
        )  # fmt: skip
    axes.set_xticks(range(table.shape[1]), [str(c).replace("_", " ") for c in table.columns])
    axes.tick_params(axis="x", rotation=40)
    axes.set_yticks(range(len(table)), [str(c).replace("_", " ") for c in table.index])
    axes.set_xlabel("verdict (groups)")
    axes.set_ylabel("what it was")
    figure.savefig(path, dpi=110)


def reliability_picture(result: Score, path: Path) -> None:
    """Draw stated probability against the share that was right, dots by weight."""
    from matplotlib.figure import Figure

    curve = result.curve
    figure = Figure(figsize=(5.6, 5.2), layout="constrained")
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], color="0.6", linestyle="--", label="as stated")
    size = 30.0 + 400.0 * curve["weight"] / curve["weight"].max()
    axes.scatter(curve["stated"], curve["right"], s=size, color=mpl.colormaps["cividis"](0.2))
    axes.plot(curve["stated"], curve["right"], color="0.2", linewidth=1.0)
    for stated, right, weight in curve[["stated", "right", "weight"]].itertuples(index=False):
        axes.annotate(f"{weight:.0f}", (stated, right), (9, -11), textcoords="offset points")
    axes.set(xlim=(0.3, 1.02), ylim=(0.0, 1.05))
    axes.set_xlabel("stated probability of the named cause [-]")
    axes.set_ylabel("share that was right [-]")
    axes.set_title(f"calibration error {result.calibration_error:.3f}; dots: groups", fontsize=10)
    axes.legend(frameon=False)
    figure.savefig(path, dpi=110)


if __name__ == "__main__":
    raise SystemExit(main())
