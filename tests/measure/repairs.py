"""Repairs with known outcome against the table: ``python -m tests.measure.repairs --repairs 400``.

Cases are drawn as ``repair_cases`` and ``repair_lines`` say. Two questions are kept apart:

- *right*: each word is held to what it claims. *Held* and *came back* claim the hidden state at the
  end; *too early* claims that nobody could tell yet, and is right only where the ideal observer,
  who knows all rates and laws, is less than nine in ten sure. A guess that turns out well counts.
- *as the ideal observer*: the same word as that observer's. A guess never counts, whatever came of
  it. This is the stricter one and states the requirement: three words, each with its own truth.
  Where that observer is sure and wrong nobody could have said better; those are counted.

The tool has to learn the rates from the alarms. What one who knows the laws and has to learn the
rates can reach stands beside each figure (*ceiling*).
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.repairs.table import repair_table
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.visits import build_visits
from tests.measure.repair_cases import MIXES, Case, Mix, draw
from tests.measure.repair_lines import draw_line, judged_line, ratio_held
from tests.ten_rows import START, history, logs_of, of_columns

ROUND_MIN = 30.0
WORDS = ["held", "came_back", "too_early"]


@dataclass(frozen=True)
class Kind:
    """One kind of repair: its row of the operations, and the alarms that it is judged by."""

    action: str
    note: str = ""
    gas: str = "HC"
    alarm: str = "alarm"
    level: str = "low"


KINDS = {
    "purge": Kind("purge", gas="", alarm="fault", level="low flow"),
    "drain": Kind("note", "water trap drained", gas="", alarm="fault", level="water trap"),
    "maintenance": Kind("maintenance", "filter changed", gas="", alarm="fault", level="low flow"),
    "zero_adjust": Kind("zero_adjust"),
    "setpoint": Kind("setpoint"),
}


def judged(case: Case, kind: Kind) -> pd.Series:
    """Return the row of the table of repairs for one case."""
    rounds = int(case.end * 60.0 / ROUND_MIN) + 1
    work: dict[str, object] = {"time": [case.purge], "action": [kind.action], "note": [kind.note]}
    if kind.action in ("zero_adjust", "setpoint"):
        work |= {"gas": ["HC"], "value": [0.0 if kind.action == "zero_adjust" else 15.0]}
    else:
        work["point"] = ["P1"]
    if kind.action == "setpoint":
        work["level"] = ["low"]
    logs = logs_of(
        {
            "readings": history({("P1", "HC"): np.ones(rounds)}, cycle_min=ROUND_MIN),
            "operations": of_columns("operations", work),
        }
    )
    episodes = pd.DataFrame(
        {
            "point": "P1",
            "gas": kind.gas,
            "level": kind.level,
            "kind": kind.alarm,
            "raised": (START + pd.to_timedelta(case.alarms, unit="h")).as_unit("us"),
        }
    )
    visits = build_visits(logs)
    table = repair_table(
        logs,
        visits,
        read_operations(logs, visits),
        episodes=episodes,
        health=np.full(len(visits), np.nan),
        ledger=calibration_ledger(logs),
    )
    return table.iloc[0]


def main() -> None:
    """Print how often the outcome is right and how often the intervals hold the truth."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repairs", type=int, default=400, help="of each mix, and lines")
    parser.add_argument("--first-seed", type=int, default=9000)
    given = parser.parse_args()
    for name, mix in MIXES.items():
        rng = np.random.default_rng(given.first_seed)
        print(f"\n== alarms, {name}")
        report_alarms(mix, rng, given.repairs)
    rng = np.random.default_rng(given.first_seed)
    print("\n== lines by their level")
    report_lines(rng, given.repairs)


def report_alarms(mix: Mix, rng: np.random.Generator, count: int) -> None:
    """Print the figures of one mix."""
    cases = [draw(mix, rng) for _ in range(count)]
    kinds = [list(KINDS)[number % len(KINDS)] for number in range(count)]
    rows = pd.DataFrame([judged(*one) for one in zip(cases, map(KINDS.get, kinds), strict=True)])
    rows = rows.reset_index(drop=True)
    told = pd.DataFrame(
        [(one.truth, one.known, one.learnt, one.lenient) for one in cases],
        columns=["hidden state", "ideal observer", "learnt", "lenient"],
    )
    said = rows["outcome"].replace("no_trouble", "too_early").rename("said")
    print(pd.crosstab([told["hidden state"], told["ideal observer"]], said).to_string())
    same = said == told["ideal observer"]
    right = _right(said, told)
    print(_share("as the ideal observer", same, told["learnt"] == told["ideal observer"]))
    print(_share("right", right, _right(told["lenient"], told)))
    sure = told["ideal observer"] != "too_early"
    wrong = told["ideal observer"] != told["hidden state"]
    print(_share("  the ideal observer sure and wrong", wrong[sure]))
    for key in WORDS:
        print(_share(f"  said {key}, right", right[said == key]))
    for key in KINDS:
        print(_share(f"  {key}, as the ideal observer", same[np.array(kinds) == key]))
    rate = np.array([case.rate for case in cases])
    for low, high in ((0.0, 1.0), (1.0, 2.5), (2.5, np.inf)):
        mine = (rate >= low) & (rate < high)
        print(_share(f"  {low} to {high} a day, as the ideal observer", same[mine]))
    both = (told["hidden state"] == "came_back") & (said == "came_back")
    off = (rows["days_to_return"] - [case.back_day for case in cases])[both]
    print(f"day of return: off by {off.abs().median():.2f} days (median)")
    ratio = np.array([case.ratio for case in cases])
    known = np.isfinite(rows["ratio_low"].to_numpy(float))
    inside = (rows["ratio_low"] <= ratio) & ~(ratio > rows["ratio_high"])
    print(_share("ratio of alarms inside its 90 % interval", inside[known]))


def _right(said: pd.Series, told: pd.DataFrame) -> pd.Series:
    early = (said == "too_early") & (told["ideal observer"] == "too_early")
    return (said == told["hidden state"]) | early


def report_lines(rng: np.random.Generator, count: int) -> None:
    """Print the figures of lines."""
    cases = [draw_line(rng) for _ in range(count)]
    found = [judged_line(case) for case in cases]
    truth = pd.Series([case.truth for case in cases], name="truth")
    said = pd.Series([one.outcome for one in found], name="said")
    day = pd.Series([case.seen >= 1.0 for case in cases], name="a day or longer")
    print(pd.crosstab([day, truth], said).to_string())
    print(_share("right, of lines seen for a day or longer", (said == truth)[day]))
    print(_share("right, of those seen for less", (said == truth)[~day]))
    print(_share("  said held or came back, right", (said == truth)[said.isin(WORDS[:2])]))
    both = (truth == "came_back") & (said == "came_back")
    off = pd.Series([one.days - case.back_day for one, case in zip(found, cases, strict=True)])
    print(f"day of return: off by {off[both].abs().quantile(0.9):.2f} days (nine in ten)")
    ratio = pd.Series([ratio_held(rng) for _ in range(count)])
    print(_share("ratio of the line inside its 90 % interval", ratio))


def _share(name: str, hits: pd.Series, ceiling: pd.Series | None = None) -> str:
    count, of = int(hits.sum()), len(hits)
    if not of:
        return f"{name}: none"
    ends = stats.binomtest(count, of).proportion_ci(0.95, method="wilson")
    most = "" if ceiling is None else f"; ceiling {ceiling.mean():.1%}"
    span = f"95 % {ends.low:.1%} to {ends.high:.1%}"
    return f"{name}: {count} of {of} = {count / of:.1%} ({span}){most}"


if __name__ == "__main__":
    main()
