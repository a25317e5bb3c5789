"""From windows to verdicts: read every sign, weigh, name the cause, say how to treat it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import pandas as pd

from alarmsift.diagnosis.cause import Cause
from alarmsift.diagnosis.checks import CHECK_BY_KEY, next_check
from alarmsift.diagnosis.experience import prior_shift, shifted, unmoved
from alarmsift.diagnosis.guards import (
    CLEAR,
    TOLD_APART,
    held_back,
    near_possible_gas,
    on_unsettled,
)
from alarmsift.diagnosis.treat import NUISANCE_BELOW, no_looser, treat_as
from alarmsift.diagnosis.weighing import NAMED_FROM, Weighed, weigh
from alarmsift.diagnosis.weights import of_signs, whole_table, with_priors
from alarmsift.diagnosis.words import fill, verdict_sentence
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.sign import answer_of
from alarmsift.pipeline.signs_read import SignsRead, all_signs, read_signs, weights_table
from alarmsift.shelf.finder import found
from alarmsift.tables.diagnosis import NOT_SETTLED, SIGN_COLUMNS
from alarmsift.tables.progress import SILENT, Progress
from alarmsift.tables.schema import REAL, UNDETERMINED

EXPLAINED = ("zero_drift", "tight_setpoint", "carry_over")
NOTHING_FOUND = "nothing_found"
# Unexplained excess from this share of the way to the setpoint is judged on its own.
LEFTOVER_COUNTS = 0.25
# A positive sign "supports" a verdict from this many decibans.
SUPPORT_DECIBANS = 3.0
HELD = " With the built-in weights it is no nuisance, so it isn't called one."


@dataclass(frozen=True)
class Verdicts:
    """Verdicts of E episodes and what stands behind them.

    Attributes
    ----------
    table : DataFrame, E rows
        ``cause``, ``probability``, ``p_gas``, ``runner_up``, ``treat_as``, ``why``,
        ``next_check``, ``peak``, and ``real``: P(gas) + P(ambient_vapour) without what findings
        lower; the larger one when two tables were weighed.
    probability : DataFrame, shape (E, C)
    signs, weights : DataFrame
        The signs' table and the weights' table.
    strength, scaled, measure : ndarray, shape (E, S)
        ``scaled`` is the strength as far as the excess bears on the cause.
    decibans : ndarray, shape (E, S, C)
    first_row, last_row : ndarray, shape (E, S)
        Source rows; 0 for none.
    source_file : ndarray of str, shape (E, S)
    built_in : Verdicts or None
        The verdicts under the built-in weights when others are in force.
    """

    table: pd.DataFrame
    probability: pd.DataFrame
    signs: pd.DataFrame
    weights: pd.DataFrame
    strength: np.ndarray
    scaled: np.ndarray
    measure: np.ndarray
    decibans: np.ndarray
    first_row: np.ndarray
    last_row: np.ndarray
    source_file: np.ndarray
    sentences: tuple[tuple[str, str], ...]
    built_in: Verdicts | None = None

    @cached_property
    def _plain(self) -> dict[str, np.ndarray]:
        """The signs' columns as arrays: each episode asks for them again."""
        return {name: self.signs[name].to_numpy(object) for name in self.signs}

    def signs_of(self, row: int) -> pd.DataFrame:
        """Return the signs behind one episode (SIGN_COLUMNS), the heaviest first."""
        cause, causes = self.table["cause"].iat[row], list(self.probability.columns)
        said, gas = self.decibans[row], causes.index("gas")
        best = causes.index(cause) if cause in causes else int(self.probability.iloc[row].argmax())
        whose = ("both", "fault" if self.table["is_fault"].iat[row] else "alarm")
        mine = np.flatnonzero(np.isin(self._plain["applies_to"], whose))
        weight = np.abs(said[mine][:, [best, gas]]).max(axis=1)
        mine = mine[np.argsort(-weight, kind="stable")]
        said, measure = said[mine], self.measure[row, mine]
        answers = answer_of(self.strength[row, mine])
        words = [
            _words(answer, *self.sentences[s], number)
            for s, answer, number in zip(mine, answers, measure, strict=True)
        ]
        top = said.argmax(axis=1)
        speaks = np.where(said.max(axis=1) > 0.5, np.array(causes, object)[top], "")
        columns = {
            "sign": self._plain["sign"][mine],
            "title": self._plain["title"][mine],
            "answer": answers,
            "words": words,
            "measure": measure,
            "unit": self._plain["unit"][mine],
            "for_cause": said[:, best],
            "for_gas": said[:, gas],
            "speaks_for": speaks,
            "source_file": self.source_file[row, mine],
            "first_row": self.first_row[row, mine],
            "last_row": self.last_row[row, mine],
        }
        return pd.DataFrame(columns, columns=SIGN_COLUMNS)


def _words(answer: str, present: str, absent: str, measure: float) -> str:
    if answer == "present":
        return fill(present, measure)
    if answer == "absent":
        return fill(absent, measure)
    if answer == "no data":
        return "the logs do not tell"
    return f"between the two: {fill(present, measure)}"


def all_causes() -> tuple[Cause, ...]:
    """Return every cause on the shelf."""
    return tuple(found("alarmsift.causes", "CAUSE"))


def judge(
    ship: Ship,
    episodes: pd.DataFrame,
    *,
    weights: pd.DataFrame | None = None,
    progress: Progress = SILENT,
) -> Verdicts:
    """Return the verdicts of all episodes (columns of ``timeline.episodes`` and counts).

    ``weights`` is a table as ``diagnosis.weights.whole_table`` gives it; None = the built-in one.
    """
    return verdicts_of(read_signs(ship, episodes, progress=progress), weights)


def verdicts_of(read: SignsRead, weights: pd.DataFrame | None = None) -> Verdicts:
    """Return the verdicts under a table of weights, never looser than under the built-in one.

    With weights of the user's own the same strengths are weighed twice: an alarm is a nuisance
    only where both tables say so, and gas is possible where either does.
    """
    built_in = _verdicts(read, whole_table(weights_table(all_signs()), all_causes()))
    if weights is None:
        return built_in
    ours = _verdicts(read, weights, real_floor=built_in.table["real"].to_numpy(float))
    treat = ours.table["treat_as"].to_numpy(object)
    held = no_looser(treat, built_in.table["treat_as"].to_numpy(object))
    hides = ours.probability[list(REAL)].sum(axis=1).to_numpy(float) < NUISANCE_BELOW
    hides &= built_in.table["real"].to_numpy(float) >= NUISANCE_BELOW
    why = ours.table["why"] + np.where(hides | (held != treat), HELD, "")
    return replace(ours, table=ours.table.assign(treat_as=held, why=why), built_in=built_in)


def _verdicts(
    read: SignsRead, weights: pd.DataFrame, *, real_floor: np.ndarray | float = 0.0
) -> Verdicts:
    """Return the verdicts; real gas counts as at least as likely as ``real_floor``, shape (E,)."""
    causes, strength, of = with_priors(all_causes(), weights), read.strength, read.by_episode
    signs, rows = read.signs, of_signs(weights)
    is_fault = (of["kind"] == "fault").to_numpy()
    weighed = weigh(read.scaled, is_fault, signs=signs, weights=rows, causes=causes)
    rest = weigh(strength, is_fault, signs=signs, weights=rows, causes=causes, without=EXPLAINED)
    weighed, before, lowered = _with_findings(weighed, of)
    real_rest = shifted(rest.probability, -lowered)[:, _columns(rest, REAL)].sum(axis=1)
    hidden = (of["left"].to_numpy() >= LEFTOVER_COUNTS) & (real_rest >= NUISANCE_BELOW)
    by_sign = {key: strength[:, s] for s, key in enumerate(signs["sign"])}
    best = np.array(weighed.causes, dtype=object)[weighed.probability.argmax(axis=1)]
    told = ("kin", "elsewhere", "clean_soon", "outgrew", "passed", "share_lost", "pair")
    facts = {key: of[key].to_numpy() for key in told}
    facts["gas"] = of["gas"].to_numpy(object)
    real = np.maximum(before[:, _columns(weighed, REAL)].sum(axis=1), real_floor)
    cleared = np.nan_to_num(of["cleared"].to_numpy(float), nan=np.inf)
    point, raised = of["point"].to_numpy(), of["raised"].to_numpy()
    near = near_possible_gas(point, raised, cleared, real)
    own_signs = (best == "test_gas") & (by_sign["test_window"] > CLEAR)
    open_points = {
        "it is still open": of["cleared"].isna().to_numpy(),
        "the point has not been read again": of["lone"].to_numpy(),
        "no reading shows it rise": ~of["seen"].to_numpy(),
        "the part of it that nothing explains may be gas": hidden,
        "without the findings another cause, or none, would be named": ~unmoved(
            weighed.probability, before, real
        ),
        "gas is possible at this point at the same time": near & ~np.isin(best, TOLD_APART),
        "most readings of this gas are missing": of["patchy"].to_numpy() & ~own_signs,
    }
    guarded = held_back(best, by_sign, facts)
    settled = (guarded == "") & ~np.any(list(open_points.values()), axis=0)
    beneath = on_unsettled(
        point,
        of["gas"].to_numpy(object),
        raised,
        cleared,
        settled & ~is_fault & (real < NUISANCE_BELOW),
    )
    beneath &= ~np.isin(best, ["test_gas", "spike"])
    settled &= ~beneath
    table = _name(weighed, real, is_fault, settled)
    why = _why(weighed, table, strength, read.measure, sentences=read.sentences, causes=causes)
    open_points["an alarm that stood at this point when it rose is not settled"] = beneath
    held = np.select(
        [real >= NUISANCE_BELOW, guarded != "", *open_points.values()],
        [_likely(real), guarded, *open_points],
        default="no sign speaks clearly enough for it",
    )
    named = (table["treat_as"] == "unresolved") & (table["cause"] != UNDETERMINED)
    open_words = np.where(named, [f"{NOT_SETTLED}{one}." for one in held], "")
    words = [*map("".join, zip(why, open_words, strict=True))]
    table["why"] = pd.Series(words, dtype="str")  # also when there is none
    table["peak"], table["real"] = of["peak"], real
    return Verdicts(
        table=table,
        probability=pd.DataFrame(weighed.probability, columns=list(weighed.causes)),
        signs=signs,
        weights=weights,
        strength=strength,
        scaled=read.scaled,
        measure=read.measure,
        decibans=weighed.decibans,
        first_row=read.first_row,
        last_row=read.last_row,
        source_file=read.source_file,
        sentences=read.sentences,
    )


def _likely(real: np.ndarray) -> np.ndarray:
    return np.array(
        [f"gas or vapour from the deck is still {share:.0%} likely" for share in real], dtype=object
    )


def _with_findings(
    weighed: Weighed, episodes: pd.DataFrame
) -> tuple[Weighed, np.ndarray, np.ndarray]:
    """Return what is weighed with the prior that findings give gas.

    And the probabilities without what findings lower, since nothing is dismissed on the strength of
    findings, and the decibans that this takes out of the weighing of the signs; both (E, C).
    """
    counts = episodes[["gas_found", "other_found"]].to_numpy(float)
    prior, at_gas = prior_shift(counts[:, 0], counts[:, 1]), weighed.causes.index("gas")
    up, down = np.zeros((2, *weighed.probability.shape))
    up[:, at_gas], down[:, at_gas] = prior
    sign = weighed.decibans[:, weighed.signs.index(NOTHING_FOUND)]
    before = shifted(weighed.probability, up - sign)
    return replace(weighed, probability=shifted(before, sign + down)), before, sign - up


def _columns(weighed: Weighed, causes: tuple[str, ...]) -> list[int]:
    return [weighed.causes.index(cause) for cause in causes]


def _name(
    weighed: Weighed, real: np.ndarray, is_fault: np.ndarray, settled: np.ndarray
) -> pd.DataFrame:
    p, keys = weighed.probability, np.array(weighed.causes, dtype=object)
    order = np.argsort(-p, axis=1, kind="stable")
    best, second = order[:, 0], order[:, 1]
    rows = np.arange(len(p))
    top = p[rows, best]
    named = top >= NAMED_FROM
    cause = np.where(named, keys[best], UNDETERMINED)
    runner_up = np.where(named, keys[second], keys[best])
    gas = list(keys).index("gas")
    supported = np.any(weighed.decibans[rows, :, best] >= SUPPORT_DECIBANS, axis=1)
    treat = treat_as(cause, real, is_fault=is_fault, supported=supported, settled=settled)
    check = next_check(p, real, is_fault, weighed.causes)
    return pd.DataFrame(
        {
            "cause": cause,
            "probability": top,
            "p_gas": np.where(is_fault, 0.0, p[:, gas]),
            "runner_up": runner_up,
            "treat_as": treat,
            "check": check,
            "next_check": [CHECK_BY_KEY[str(key)].words for key in check],
            "best": keys[best],
            "is_fault": is_fault,
        }
    )


def _why(
    weighed: Weighed,
    table: pd.DataFrame,
    strength: np.ndarray,
    measure: np.ndarray,
    *,
    sentences: tuple[tuple[str, str], ...],
    causes: tuple[Cause, ...],
) -> list[str]:
    titles = {cause.key: cause.title for cause in causes}
    index = {key: i for i, key in enumerate(weighed.causes)}
    out = []
    for row, (cause, best) in enumerate(zip(table["cause"], table["best"], strict=True)):
        # Against the rest: what a sign says of this cause less what it says of the field.
        said = weighed.decibans[row]
        mine = said[:, index[best]] - said.mean(axis=1)
        order = np.argsort(-mine, kind="stable")

        def sentence(s: int, row: int = row) -> str:
            present, absent = sentences[s]
            template = present if strength[row, s] > 0 else absent
            return fill(template, measure[row, s])

        pro = [sentence(s) for s in order[:3] if mine[s] > 2.0]
        con = [sentence(s) for s in order[::-1][:1] if mine[s] < -3.0]
        title = None if cause == UNDETERMINED else titles[cause]
        out.append(verdict_sentence(title, pro, con, titles[best]))
    return out
