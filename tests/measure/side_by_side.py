"""The diagnosis beside a checklist and two classifiers: ``python -m tests.measure.side_by_side F``.

Each FOLDER holds ships (``logs/`` and ``truth/`` in each). All four are counted alike by
``tests.measure.score``. The classifiers are cross-validated by ship. ``--train FOLDER`` gives them
further ships to learn from that are not scored. They have seen hundreds of answers of the same
kind of ship, which nobody has on board: they show what the logs hold, not what a user could buy.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd
from tqdm import tqdm

from alarmsift.pipeline.diagnose import measured
from alarmsift.pipeline.verdicts import judge
from alarmsift.reading.folder import read_logs
from alarmsift.tables.schema import UNDETERMINED
from tests.measure.checklist import checklist
from tests.measure.classifier import learn, named
from tests.measure.raw_features import features
from tests.measure.rounds import lay_out
from tests.measure.score import Score, matched, score

KEY = ["kind", "point", "gas", "level", "raised"]
SAID = ["cause", "probability", "p_gas", "treat_as", "runner_up"]


@dataclass(frozen=True)
class Ships:
    """Matched episodes of some ships: diagnosis, checklist, strengths (E, S), features (E, F)."""

    diagnosis: pd.DataFrame
    checklist: pd.DataFrame
    strength: pd.DataFrame
    raw: pd.DataFrame


def one_ship(folder: Path) -> Ships:
    """Return what the product and the checklist say of a ship, and what a classifier may learn."""
    logs = read_logs(folder / "logs")
    ship, table, _ = measured(logs)
    verdicts = judge(ship, table)
    truth = pd.read_csv(folder / "truth" / "episodes.csv", dtype=str, keep_default_na=False)
    rounds = lay_out(logs, table)
    episodes = table[KEY].reset_index(drop=True).assign(episode=np.arange(len(table)))
    rows, plain = (
        matched(
            pd.concat([episodes, said[SAID].reset_index(drop=True)], axis=1), truth, folder.name
        )
        for said in (verdicts.table, checklist(rounds))
    )
    keep = (rows["found"] & (rows["truth"] != UNDETERMINED)).to_numpy()
    at = rows.loc[keep, "episode"].to_numpy(int)
    strength = pd.DataFrame(verdicts.scaled, columns=verdicts.signs["sign"])
    strength["fault"] = (table["kind"] == "fault").to_numpy(float)
    raw = features(rounds)
    return Ships(rows[keep], plain[keep], strength.iloc[at], raw.iloc[at])


def all_ships(folders: list[Path]) -> Ships:
    """Return every ship in the folders, one below the other."""
    paths = [p for f in folders for p in sorted(f.iterdir()) if (p / "truth").is_dir()]
    parts = [one_ship(path) for path in tqdm(paths, desc="Ships", file=sys.stderr)]
    return Ships(
        *(
            pd.concat([getattr(p, name) for p in parts], ignore_index=True)
            for name in ("diagnosis", "checklist", "strength", "raw")
        )
    )


def compare(ships: Ships, scored: np.ndarray) -> dict[str, Score]:
    """Return the scores of the four on the scored rows (E,)."""
    rows = ships.diagnosis
    both = pd.concat([ships.strength, ships.raw], axis=1)
    said = {"diagnosis": rows, "checklist": ships.checklist}
    for name, x in (("raw features", ships.raw), ("signs", ships.strength), ("both", both)):
        said[name] = named(*learn(x.to_numpy(float), rows), rows)
    return {name: score(table[scored]) for name, table in said.items()}


def report(scores: dict[str, Score]) -> str:
    """Return the scores as text."""
    head = {
        name: {
            "macro-F1": s.macro_f1,
            "real lost": s.real_lost,
            "of groups": s.real_groups,
            "nuisance called gas": s.nuisance_called_gas,
            "nuisance settled": s.nuisance_settled,
            "undetermined": s.undetermined,
            "calibration error": s.calibration_error,
        }
        for name, s in scores.items()
    }
    f1 = pd.DataFrame({name: s.f1 for name, s in scores.items()})
    return f"{pd.DataFrame(head).round(3).to_string()}\n\nF1 by cause\n{f1.round(3).to_string()}"


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--train", nargs="*", default=[], type=Path, help="ships to learn from")
    options = parser.parse_args(arguments)
    ships = all_ships([*options.folders, *options.train])
    own = {p.name for f in options.folders for p in f.iterdir()}
    print(report(compare(ships, ships.diagnosis["ship"].isin(own).to_numpy())))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
