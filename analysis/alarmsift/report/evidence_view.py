"""The evidence for and against behind one bout's verdict, as a reader sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from alarmsift.report.bouts import Bout
from alarmsift.report.figures import number, text
from alarmsift.report.times import Moment, moment
from alarmsift.report.words import Look, cause_look
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import UNDETERMINED

# Signs that say less than this for or against both are listed apart [decibans].
LIGHT_DB = 1.0
FULL_BAR_DB = 20.0  # a bar is full at 20 decibans: a hundred times as likely
LEAST_SHARE = 0.005
MOST_CAUSES = 5


@dataclass(frozen=True)
class Bar:
    """A weight as a bar from the middle: ``left`` and ``width`` in per cent of the cell."""

    left: float
    width: float
    words: str
    sign: str


@dataclass(frozen=True)
class SignLine:
    """One sign: what it says, and what it weighs."""

    title: str
    answer: str
    words: str
    cause_bar: Bar
    gas_bar: Bar
    speaks_for: Look | None
    source: str


@dataclass(frozen=True)
class EvidenceView:
    """One bout: its verdict, its signs, its runner-up and its next check.

    ``weighed`` is the cause that the signs' first weight is for: the verdict's, or of an
    undetermined alarm the likeliest single one, which ``runner_up`` names. ``prior`` is how common
    that cause and gas are before any sign; ``light`` are the signs that weigh next to nothing.
    """

    bout: str
    episode: str
    count: int
    what: str
    raised: Moment
    look: Look
    is_gas: bool
    is_undetermined: bool
    weighed: Look
    treat_as: str
    probability: float
    p_gas: float
    why: str
    causes: tuple[tuple[Look, float], ...]
    prior: SignLine | None
    signs: tuple[SignLine, ...]
    light: tuple[SignLine, ...]
    silent: tuple[str, ...]
    runner_up: Look | None
    for_runner_up: tuple[str, ...]
    next_check: str
    outcomes: tuple[tuple[str, str], ...]


def evidence_view(diagnosis: Diagnosis, bout: Bout) -> EvidenceView:
    """Return the evidence of the episode that speaks for a bout."""
    row = bout.episode
    signs = diagnosis.signs(str(row["episode"]))
    silent = signs["answer"] == "no data"
    runner, undetermined = text(row["runner_up"]), row["cause"] == UNDETERMINED
    spoken = signs[~silent]
    light = (spoken[["for_cause", "for_gas"]].abs() < LIGHT_DB).all(axis=1)
    weighed = runner if undetermined and runner else text(row["cause"])
    return EvidenceView(
        bout=bout.key,
        episode=str(row["episode"]),
        count=bout.count,
        what=f"{text(row['gas'])} {text(row['level'])} {text(row['kind'])}".strip(),
        raised=moment(row["raised"], diagnosis.logs.clock),
        look=cause_look(row["cause"]),
        is_gas=row["cause"] == "gas",
        is_undetermined=undetermined,
        weighed=cause_look(weighed),
        treat_as=str(row["treat_as"]),
        probability=float(row["probability"]),
        p_gas=float(row["p_gas"]),
        why=text(row["why"]),
        causes=_causes(diagnosis.probabilities, str(row["episode"])),
        prior=_prior(diagnosis.weights, weighed),
        signs=tuple(_sign(one) for one in spoken[~light].itertuples()),
        light=tuple(_sign(one) for one in spoken[light].itertuples()),
        silent=tuple(signs.loc[silent, "title"].astype(str)),
        runner_up=cause_look(runner) if runner else None,
        for_runner_up=tuple(spoken.loc[spoken["speaks_for"] == runner, "words"].astype(str))
        if runner
        else (),
        next_check=text(row["next_check"]),
        outcomes=outcomes_of(diagnosis.checks, text(row["next_check"])),
    )


def outcomes_of(checks: pd.DataFrame, check: str) -> tuple[tuple[str, str], ...]:
    """Return (outcome, what it would mean) for a check, by its key or its words."""
    if not check or not len(checks):
        return ()
    mine = checks[(checks["check"] == check) | (checks["key"] == check)]
    mine = mine.drop_duplicates(["outcome", "means"])
    return tuple(zip(mine["outcome"].astype(str), mine["means"].astype(str), strict=True))


def _causes(probabilities: pd.DataFrame, episode: str) -> tuple[tuple[Look, float], ...]:
    if episode not in probabilities.index:
        return ()
    shares = probabilities.loc[episode].astype(float)
    shares = shares[shares >= LEAST_SHARE].sort_values(ascending=False, kind="stable")
    return tuple((cause_look(cause), float(p)) for cause, p in shares.iloc[:MOST_CAUSES].items())


def _prior(weights: pd.DataFrame, cause: str) -> SignLine | None:
    """Return how common a cause and gas are before any sign, where the weights tell both."""
    mine = weights[weights["sign"] == "prior"].set_index("cause")["present"]
    if cause not in mine.index or "gas" not in mine.index:
        return None
    return SignLine(
        title="Before any sign",
        answer="",
        words="how common it is among alarms of such systems",
        cause_bar=weight_bar(float(mine[cause])),
        gas_bar=weight_bar(float(mine["gas"])),
        speaks_for=None,
        source="weights.csv, prior",
    )


def _sign(one: Any) -> SignLine:
    speaks = text(one.speaks_for)
    return SignLine(
        title=text(one.title),
        answer=text(one.answer),
        words=text(one.words),
        cause_bar=weight_bar(one.for_cause),
        gas_bar=weight_bar(one.for_gas),
        speaks_for=cause_look(speaks) if speaks else None,
        source=_source(one),
    )


def weight_bar(decibans: float) -> Bar:
    """Return a weight as a bar: to the right for, to the left against.

    Examples
    --------
    >>> weight_bar(10.0)
    Bar(left=50.0, width=25.0, words='+10', sign='for')
    >>> weight_bar(-40.0)
    Bar(left=0.0, width=50.0, words='−40', sign='against')
    """
    if not np.isfinite(decibans) or abs(decibans) < 0.05:
        return Bar(50.0, 0.0, "0", "none")
    width = 50.0 * min(abs(decibans), FULL_BAR_DB) / FULL_BAR_DB
    words = f"{'+' if decibans > 0 else ''}{number(round(decibans, 1))}"
    if decibans > 0:
        return Bar(50.0, round(width, 1), words, "for")
    return Bar(round(50.0 - width, 1), round(width, 1), words, "against")


def _source(one: Any) -> str:
    file = text(one.source_file)
    first, last = one.first_row, one.last_row
    if not file or pd.isna(first):
        return file
    if pd.isna(last) or first == last:
        return f"{file}, row {int(first)}"
    return f"{file}, rows {int(first)} to {int(last)}"
