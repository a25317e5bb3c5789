"""Published rules: every rule on the shelf, in one table."""

from __future__ import annotations

import pandas as pd

from alarmsift.evidence.rule import NOT_DECIDABLE, NOT_MET, Kept, Rule
from alarmsift.shelf.finder import found
from alarmsift.tables.diagnosis import RULE_COLUMNS


def all_rules() -> tuple[Rule, ...]:
    """Return every rule on the shelf."""
    return tuple(found("alarmsift.rules", "RULE"))


def rules_table(kept: Kept) -> pd.DataFrame:
    """Return what the logs show of each rule (RULE_COLUMNS), those not met first."""
    rows = []
    for rule in all_rules():
        ruling = rule.check(kept)
        where = ", ".join(ruling.where)
        rows.append((rule.key, rule.title, ruling.outcome, where, ruling.why, rule.source))
    frame = pd.DataFrame(rows, columns=RULE_COLUMNS)
    rank = frame["outcome"].map({NOT_MET: 0, NOT_DECIDABLE: 1}).fillna(2)
    return frame.iloc[rank.argsort(kind="stable")].reset_index(drop=True)
