"""The evidence for and against behind one bout's verdict, as a reader sees it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd

from alarmsift.report.bouts import Bout
from alarmsift.report.figures import number, text
from alarmsift.report.times import Moment, moments
from alarmsift.report.words import Look, cause_look
from alarmsift.tables.diagnosis import SIGN_COLUMNS, Diagnosis
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


class _Read(NamedTuple):
    """One row of a frame of signs, SIGN_COLUMNS in their order."""

    sign: str
    title: str
    answer: str
    words: str
    measure: float
    unit: str
    for_cause: float
    for_gas: float
    speaks_for: str
    source_file: str
    first_row: float
    last_row: float

    @property
    def light(self) -> bool:
        """Whether it weighs next to nothing either way."""
        return abs(self.for_cause) < LIGHT_DB and abs(self.for_gas) < LIGHT_DB


def evidence_views(diagnosis: Diagnosis, bouts: list[Bout]) -> tuple[EvidenceView, ...]:
    """Return the evidence of the episodes that speak for bouts."""
    raised = pd.Series([bout.episode["raised"] for bout in bouts], dtype="datetime64[us, UTC]")
    times = moments(raised, diagnosis.logs.clock)
    return tuple(_view(diagnosis, *one) for one in zip(bouts, times, strict=True))


def _view(diagnosis: Diagnosis, bout: Bout, raised: Moment) -> EvidenceView:
    row = bout.episode
    frame = diagnosis.signs(str(row["episode"]))
    # A ship-year has a thousand of these frames: plain tuples take a tenth of a frame's time.
    signs = [
        _Read(*cells) for cells in zip(*(frame[c].tolist() for c in SIGN_COLUMNS), strict=True)
    ]
    spoken = [sign for sign in signs if sign.answer != "no data"]
    runner, undetermined = text(row["runner_up"]), row["cause"] == UNDETERMINED
    weighed = runner if undetermined and runner else text(row["cause"])
    return EvidenceView(
        bout=bout.key,
        episode=str(row["episode"]),
        count=bout.count,
        what=f"{text(row['gas'])} {text(row['level'])} {text(row['kind'])}".strip(),
        raised=raised,
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
        signs=tuple(_sign(one) for one in spoken if not one.light),
        light=tuple(_sign(one) for one in spoken if one.light),
        silent=tuple(str(one.title) for one in signs if one.answer == "no data"),
        runner_up=cause_look(runner) if runner else None,
        for_runner_up=tuple(str(one.words) for one in spoken if one.speaks_for == runner)
        if runner
        else (),
        next_check=text(row["next_check"]),
        outcomes=outcomes_of(diagnosis.checks, text(row["next_check"])),
    )


def outcomes_of(checks: pd.DataFrame, check: str) -> tuple[tuple[str, str], ...]:
    """Return (outcome, what it would mean) for a check, by its key or its words."""
    if not check or not len(checks):
        return ()
    rows = zip(*(checks[c].tolist() for c in ("check", "key", "outcome", "means")), strict=True)
    mine = ((str(out), str(means)) for words, key, out, means in rows if check in (words, key))
    return tuple(dict.fromkeys(mine))


def _causes(probabilities: pd.DataFrame, episode: str) -> tuple[tuple[Look, float], ...]:
    if episode not in probabilities.index:
        return ()
    shares = probabilities.loc[episode].astype(float)
    shares = shares[shares >= LEAST_SHARE].sort_values(ascending=False, kind="stable")
    return tuple((cause_look(cause), float(p)) for cause, p in shares.iloc[:MOST_CAUSES].items())


def _prior(weights: pd.DataFrame, cause: str) -> SignLine | None:
    """Return how common a cause and gas are before any sign, where the weights tell both."""
    rows = zip(*(weights[c].tolist() for c in ("sign", "cause", "present")), strict=True)
    mine = {named: present for sign, named, present in rows if sign == "prior"}
    if cause not in mine or "gas" not in mine:
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


def _sign(one: _Read) -> SignLine:
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


def _source(one: _Read) -> str:
    file = text(one.source_file)
    first, last = one.first_row, one.last_row
    if not file or pd.isna(first):
        return file
    if pd.isna(last) or first == last:
        return f"{file}, row {int(first)}"
    return f"{file}, rows {int(first)} to {int(last)}"
