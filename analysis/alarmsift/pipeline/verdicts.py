"""From windows to verdicts: read every sign, weigh, name the cause, say how to treat it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from alarmsift.diagnosis.cause import Cause
from alarmsift.diagnosis.checks import CHECK_BY_KEY, next_check
from alarmsift.diagnosis.guards import TOLD_APART, held_back, near_possible_gas
from alarmsift.diagnosis.treat import NUISANCE_BELOW, treat_as
from alarmsift.diagnosis.weighing import NAMED_FROM, Weighed, weigh
from alarmsift.diagnosis.words import fill, verdict_sentence
from alarmsift.evidence.budget import leftover, own_matters, shared_elsewhere
from alarmsift.evidence.follow import previous_is_kin
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.sign import Sign, answer_of
from alarmsift.evidence.windows import Windows, build_windows
from alarmsift.shelf.finder import found
from alarmsift.tables.diagnosis import SIGN_COLUMNS
from alarmsift.tables.progress import SILENT, Progress
from alarmsift.tables.schema import UNDETERMINED

# Alarms are judged in portions, so that a chattering year fits into memory.
PORTION = 1500
# These families speak of the whole reading; the others only of what is left unexplained in it.
ABOUT_ALL = ("budget", "zero_speed", "channels", "size", "recurrence", "name", "pump")
EXPLAINED = ("zero_drift", "tight_setpoint", "carry_over")
REAL = ("gas", "ambient_vapour")
# Unexplained excess from this share of the way to the setpoint is judged on its own.
LEFTOVER_COUNTS = 0.25
# A positive sign "supports" a verdict from this many decibans.
SUPPORT_DECIBANS = 3.0


@dataclass(frozen=True)
class Verdicts:
    """Verdicts of E episodes and what stands behind them.

    Attributes
    ----------
    table : DataFrame, E rows
        ``cause``, ``probability``, ``p_gas``, ``runner_up``, ``treat_as``, ``why``,
        ``next_check``, ``peak``.
    probability : DataFrame, shape (E, C)
    signs, weights : DataFrame
        The signs' table and the weights' table.
    strength, scaled, measure : ndarray, shape (E, S)
        ``scaled`` is the strength as far as the excess bears on the cause.
    decibans : ndarray, shape (E, S, C)
    first_row, last_row : ndarray, shape (E, S)
        Source rows; 0 for none.
    source_file : ndarray of str, shape (E, S)
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


def all_signs() -> list[Sign]:
    """Return every sign on the shelf."""
    return found("alarmsift.signs", "SIGN")


def all_causes() -> tuple[Cause, ...]:
    """Return every cause on the shelf."""
    return tuple(found("alarmsift.causes", "CAUSE"))


def weights_table(signs: list[Sign]) -> pd.DataFrame:
    """Return the one table of weights that users see: a row a sign and cause."""
    return pd.DataFrame(
        [
            {
                "sign": sign.key,
                "cause": weight.cause,
                "present": weight.present,
                "absent": weight.absent,
                "reason": weight.reason,
                "source": weight.source,
            }
            for sign in signs
            for weight in sign.weights
        ],
        columns=["sign", "cause", "present", "absent", "reason", "source"],
    )


def judge(ship: Ship, episodes: pd.DataFrame, *, progress: Progress = SILENT) -> Verdicts:
    """Return the verdicts of all episodes (columns of ``timeline.episodes`` and counts)."""
    signs, causes = all_signs(), all_causes()
    weights = weights_table(signs)
    sign_table = pd.DataFrame(
        {
            "sign": [s.key for s in signs],
            "title": [s.title for s in signs],
            "family": [s.family for s in signs],
            "unit": [s.unit for s in signs],
            "applies": [s.applies for s in signs],
            "applies_to": [s.applies for s in signs],
        }
    )
    n, n_signs = len(episodes), len(signs)
    strength, measure = np.full((2, n, n_signs), np.nan)
    first, last = np.zeros((2, n, n_signs), "int64")
    files = np.full((n, n_signs), "", dtype=object)
    peak, lone = np.full(n, np.nan), np.zeros(n, bool)
    matters, left, kin = np.ones(n), np.zeros(n), np.zeros(n, bool)
    seen, point, elsewhere = np.zeros(n, bool), np.full(n, -1), np.zeros(n, bool)
    progress.stage("Judging alarms", n)
    for begin in range(0, n, PORTION):
        part = slice(begin, min(begin + PORTION, n))
        w = build_windows(ship, episodes.iloc[part])
        for s, sign in enumerate(signs):
            reading = sign.read(w)
            wanted = w.is_fault if sign.applies == "fault" else ~w.is_fault
            wanted = np.ones(len(w), bool) if sign.applies == "both" else wanted
            strength[part, s] = np.where(wanted, reading.strength, np.nan)
            measure[part, s] = reading.measure
            first[part, s], last[part, s], files[part, s] = _rows(w, reading.first, reading.last)
        peak[part], lone[part] = _peaks(w), _not_followed(w)
        matters[part] = np.where(w.is_fault, 1.0, own_matters(w))
        left[part] = np.where(w.is_fault, 0.0, leftover(w))
        kin[part] = previous_is_kin(w) & (np.nan_to_num(w.prev[:, w.at]) > 0.3 * w.x0)
        seen[part] = np.isfinite(w.shown[:, w.at])
        point[part] = np.where(w.is_fault, -1, w.point)
        elsewhere[part] = shared_elsewhere(w)
        progress.step(part.stop - part.start)
    is_fault = (episodes["kind"] == "fault").to_numpy()
    about_excess = ~np.isin(sign_table["family"].to_numpy(object), ABOUT_ALL)
    scaled = np.where(about_excess[None, :], strength * matters[:, None], strength)
    weighed = weigh(scaled, is_fault, signs=sign_table, weights=weights, causes=causes)
    rest = weigh(
        strength, is_fault, signs=sign_table, weights=weights, causes=causes, without=EXPLAINED
    )
    sentences = tuple((s.present, s.absent) for s in signs)
    real_rest = rest.probability[:, _columns(rest, REAL)].sum(axis=1)
    hidden = (left >= LEFTOVER_COUNTS) & (real_rest >= NUISANCE_BELOW)
    settled = episodes["cleared"].notna().to_numpy() & ~lone & ~hidden
    by_sign = {sign.key: strength[:, s] for s, sign in enumerate(signs)}
    best = np.array(weighed.causes, dtype=object)[weighed.probability.argmax(axis=1)]
    settled &= seen & ~held_back(best, by_sign, kin_before=kin, shared_elsewhere=elsewhere)
    real = weighed.probability[:, _columns(weighed, REAL)].sum(axis=1)
    raised = ship.visits.since(episodes["raised"])
    cleared = np.nan_to_num(ship.visits.since(episodes["cleared"]), nan=np.inf)
    near = near_possible_gas(point, raised, cleared, real)
    settled &= ~near | np.isin(best, TOLD_APART)
    table = _name(weighed, causes, is_fault, settled)
    table["why"] = _why(weighed, table, strength, measure, sentences=sentences, causes=causes)
    table["peak"] = peak
    return Verdicts(
        table=table,
        probability=pd.DataFrame(weighed.probability, columns=list(weighed.causes)),
        signs=sign_table,
        weights=weights,
        strength=strength,
        scaled=scaled,
        measure=measure,
        decibans=weighed.decibans,
        first_row=first,
        last_row=last,
        source_file=files,
        sentences=sentences,
    )


def _columns(weighed: Weighed, causes: tuple[str, ...]) -> list[int]:
    return [weighed.causes.index(cause) for cause in causes]


def _rows(
    w: Windows, first: np.ndarray | None, last: np.ndarray | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return source rows and file of the visits that a sign rests on."""
    at = np.full(len(w), w.at)
    a = np.clip(at if first is None else first, 0, w.visit.shape[1] - 1).astype(int)
    b = np.clip(at if last is None else last, 0, w.visit.shape[1] - 1).astype(int)
    rows = np.arange(len(w))
    start, end = w.visit[rows, a], w.visit[rows, b]
    raiser = w.visit[:, w.at]
    start = np.where(start >= 0, start, raiser)
    end = np.where(end >= 0, end, raiser)
    source = w.ship.logs.readings
    reading = np.full((2, len(w)), -1, "int64")
    for gas in w.ship.visits.gases:
        mine = (w.gas == gas) | ((w.gas == "") & (reading[0] < 0))
        of_visit = w.ship.visits.reading[gas]
        for which, visit in enumerate((start[mine], end[mine])):
            reading[which, mine] = np.where(visit >= 0, of_visit[visit], -1)
    row = source["source_row"].to_numpy()
    file = source["source_file"].cat.codes.to_numpy()
    names = np.append(np.asarray(source["source_file"].cat.categories, dtype=object), "")
    if not len(row):
        blank = np.zeros(len(w), "int64")
        return blank, blank, np.full(len(w), "", dtype=object)
    known = reading[0] >= 0
    first_row = np.where(known, row[reading[0]], 0)
    same = known & (reading[1] >= 0) & (file[reading[1]] == file[reading[0]])
    last_row = np.where(same, row[reading[1]], first_row)
    return first_row, np.maximum(first_row, last_row), names[np.where(known, file[reading[0]], -1)]


def _peaks(w: Windows) -> np.ndarray:
    """Return the reading furthest past the setpoint while the episode was open."""
    value = np.full(w.visit.shape, np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        value[mine] = np.append(w.ship.visits.raw[gas], np.nan)[w.visit[mine]]
    end = (w.cleared - w.raised)[:, None]
    inside = (w.rel >= -1e-6) & (w.rel <= end)
    inside[:, w.at] = w.visit[:, w.at] >= 0
    turn = np.where(w.rising, 1.0, -1.0)[:, None]
    top = np.where(inside & np.isfinite(value), turn * value, -np.inf).max(axis=1)
    top = np.where(np.isfinite(top), turn[:, 0] * top, np.nan)
    return np.where(np.isfinite(top), top, w.value)


def _not_followed(w: Windows) -> np.ndarray:
    """Tell which alarms were not yet followed by another valid visit of the point."""
    return ~np.isfinite(w.x[:, w.at + 1 :]).any(axis=1) & ~w.is_fault


def _name(
    weighed: Weighed, causes: tuple[Cause, ...], is_fault: np.ndarray, settled: np.ndarray
) -> pd.DataFrame:
    p, keys = weighed.probability, np.array(weighed.causes, dtype=object)
    order = np.argsort(-p, axis=1, kind="stable")
    best, second = order[:, 0], order[:, 1]
    rows = np.arange(len(p))
    top = p[rows, best]
    named = top >= NAMED_FROM
    cause = np.where(named, keys[best], UNDETERMINED)
    runner_up = np.where(named, keys[second], keys[best])
    gas, ambient = list(keys).index("gas"), list(keys).index("ambient_vapour")
    real = p[:, gas] + p[:, ambient]
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
