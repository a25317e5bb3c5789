"""What engineers found when they looked: it names the cause, and is never let to teach blindness.

A finding reaches the last bout of its point (and gas) raised before it, at most 72 h back.
``nothing`` is a sign of its own and never an override; a finding against signs of gas is shown as
a conflict and the alarm stays at least unresolved. Gas that was found stays gas, whatever else
was found of the same bout.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.diagnosis.treat import NUISANCE_BELOW
from alarmsift.tables.diagnosis import FINDING_COLUMNS, RECORD_COLUMNS
from alarmsift.tables.schema import CAUSES, REAL, UNDETERMINED
from alarmsift.timeline.findings import NOTHING, found_words, reached


@dataclass(frozen=True)
class Found:
    """What findings made of the verdicts.

    Attributes
    ----------
    episodes : DataFrame, E rows
        EPISODE_COLUMNS; ``probability`` is what the signs give the cause that was found.
    findings : DataFrame, F rows
        FINDING_COLUMNS.
    record : DataFrame
        RECORD_COLUMNS.
    """

    episodes: pd.DataFrame
    findings: pd.DataFrame
    record: pd.DataFrame


def apply_findings(
    episodes: pd.DataFrame,
    findings: pd.DataFrame,
    *,
    probability: pd.DataFrame,
    real: np.ndarray,
    gas_before: np.ndarray,
) -> Found:
    """Return the episodes with findings applied, and the record of the verdicts before.

    Parameters
    ----------
    episodes : DataFrame, E rows
        EPISODE_COLUMNS as the signs have it.
    findings : DataFrame, F rows
        The canonical table.
    probability : DataFrame, shape (E, C)
        Of each cause, from the signs.
    real : ndarray, shape (E,)
        P(gas) + P(ambient_vapour) without what findings lower.
    gas_before : ndarray, shape (E,)
        How often gas was found at the point and gas before.
    """
    hits = reached(findings, episodes, episodes["bout"].to_numpy(object))
    out = episodes.copy()
    early = np.asarray(gas_before) > 0
    before = np.where(early, " Gas was found here before, so gas starts with more.", "")
    out["why"] = out["why"].astype("str") + before.astype(object)
    doubt = (np.asarray(real) >= NUISANCE_BELOW) & (out["kind"] != "fault").to_numpy()
    doubt |= (out["treat_as"] == "gas").to_numpy()
    looked = hits.loc[hits["found"] == NOTHING, "row"].unique()
    looked = looked[doubt[looked]]
    stands = "An engineer found nothing. The signs do not rule gas out, so it stays to be treated"
    out.loc[out.index[looked], "why"] = f"{stands} as gas. " + out["why"].iloc[looked]
    named = _standing(hits)
    _override(out, named, probability, doubt)
    return Found(out, _outcomes(findings, hits, episodes, doubt), _record(episodes, named, CAUSES))


def _standing(hits: pd.DataFrame) -> pd.DataFrame:
    """Return the one finding that stands for each alarm: the last, or gas if it was ever found."""
    named = hits[hits["found"] != NOTHING]
    order = named.assign(real=named["found"].isin(REAL), back=named["hours"])
    order = order.sort_values(["row", "real", "back", "finding"], kind="stable")
    return order.drop_duplicates("row", keep="last")


def _override(
    out: pd.DataFrame, named: pd.DataFrame, probability: pd.DataFrame, doubt: np.ndarray
) -> None:
    """Write what was found over the verdicts (in place)."""
    at, what = named["row"].to_numpy(int), named["found"].to_numpy(object)
    verdict = out["cause"].to_numpy(object)[at]
    is_fault = (out["kind"] == "fault").to_numpy()[at]
    real = np.isin(what.astype(str), REAL)
    conflict = doubt[at] & ~real
    causes = list(probability.columns)
    share = probability.to_numpy(float)[at].copy()
    rows, column = np.arange(len(at)), np.array([causes.index(cause) for cause in what], int)
    mine = share[rows, column]
    share[rows, column] = -1.0
    stays = " The signs do not rule gas out, so it stays to be treated as gas."
    said = "An engineer found: " + _plain(what) + "." + np.where(conflict, stays, "")
    # What follows is the signs' own case, which may be another.
    said += np.where(verdict == what, " The signs agree: ", " By the signs alone: ")
    case = pd.Series(out["why"].to_numpy(object)[at], dtype=object)
    case = (case.str[:1].str.lower() + case.str[1:]).to_numpy(object)
    treat = out["treat_as"].to_numpy(object)[at]
    treat = np.where(conflict, "unresolved", np.where(real, "gas", treat))
    treat = np.where(is_fault, "unwatched", treat)
    values = {
        "cause": what,
        "probability": mine,
        "runner_up": np.array(causes, dtype=object)[share.argmax(axis=1)],
        "treat_as": treat,
        "why": said + case,
    }
    for name, new in values.items():
        column_now = out[name].to_numpy(copy=True)
        column_now[at] = new
        out[name] = column_now


def _plain(words: np.ndarray) -> np.ndarray:
    return pd.Series(words, dtype=object).str.replace("_", " ").to_numpy(object)


def _record(episodes: pd.DataFrame, named: pd.DataFrame, causes: tuple[str, ...]) -> pd.DataFrame:
    """Return the verdicts, a bout each, that the standing findings confirmed and refuted."""
    judged = pd.DataFrame(
        {
            "bout": episodes["bout"].to_numpy(object)[named["row"]],
            "cause": episodes["cause"].to_numpy(object)[named["row"]],
            "right": episodes["cause"].to_numpy(object)[named["row"]] == named["found"],
            "row": named["row"].to_numpy(int),
        }
    ).sort_values("row")
    # The last alarm speaks for its bout: the finding is nearest to it.
    judged = judged.drop_duplicates("bout", keep="last")
    judged = judged[judged["cause"] != UNDETERMINED]
    right = judged[judged["right"]]["cause"].value_counts()
    wrong = judged[~judged["right"].astype(bool)]["cause"].value_counts()
    rows = [
        (cause, int(right.get(cause, 0)), int(wrong.get(cause, 0)))
        for cause in causes
        if cause in right or cause in wrong
    ]
    return pd.DataFrame(rows, columns=RECORD_COLUMNS)


def _outcomes(
    findings: pd.DataFrame, hits: pd.DataFrame, episodes: pd.DataFrame, doubt: np.ndarray
) -> pd.DataFrame:
    """Return what came of each finding, FINDING_COLUMNS."""
    out = findings[["time", "point", "gas", "found", "note"]].reset_index(drop=True)
    word = found_words(findings)
    keys, causes = episodes["episode"].to_numpy(object), episodes["cause"].to_numpy(object)
    of = hits.assign(
        episode=keys[hits["row"]], verdict=causes[hits["row"]], doubt=doubt[hits["row"]]
    ).groupby("finding")
    index = range(len(findings))
    out["episodes"] = of["episode"].agg(" ".join).reindex(index).fillna("").to_numpy(object)
    verdict = of["verdict"].last().reindex(index).fillna("").to_numpy(object)
    out["verdict"] = verdict
    out["outcome"] = np.select(
        [
            ~np.isin(word.astype(str), [*CAUSES, NOTHING]),
            verdict == "",
            word == NOTHING,
            verdict == UNDETERMINED,
            verdict == word,
        ],
        ["not_read", "no_alarm", "no_override", "named", "confirmed"],
        default="refuted",
    )
    out["conflict"] = of["doubt"].any().reindex(index).eq(True).to_numpy(bool) & ~np.isin(
        word.astype(str), REAL
    )
    return out[FINDING_COLUMNS]
