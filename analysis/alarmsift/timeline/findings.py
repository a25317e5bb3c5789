"""Which alarms a finding reaches, and what had been found at a point before an alarm.

An engineer writes the point and perhaps the gas, never the alarm. So a finding is about the last
bout there before it, and about the bouts of other levels that stood at the same time: whoever
looked after the high alarm looked after the low one too.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.tables.schema import CAUSES, REAL
from alarmsift.timeline.bouts import bouts

REACH_HOURS = 72.0
NOTHING = "nothing"
# What can cut the flow: a fault of a line has no other cause.
OF_FAULTS = ("water", "blocked", "pump")
_HOUR = pd.Timedelta(hours=1)


def found_words(findings: pd.DataFrame) -> np.ndarray:
    """Return what was found as keys of causes (or ``nothing``), shape (F,).

    Examples
    --------
    >>> found_words(pd.DataFrame({"found": ["Carry-over ", "test gas"]})).tolist()
    ['carry_over', 'test_gas']
    """
    words = findings["found"].astype("str").str.strip().str.lower()
    return words.str.replace(r"[\s\-_]+", "_", regex=True).to_numpy(object)


def reached(findings: pd.DataFrame, episodes: pd.DataFrame, bout: np.ndarray) -> pd.DataFrame:
    """Return which alarms each finding reaches.

    Parameters
    ----------
    findings : DataFrame, F rows
        The canonical table.
    episodes : DataFrame, E rows
        ``point``, ``gas``, ``level``, ``kind``, ``raised``, ``cleared``.
    bout : ndarray of str, shape (E,)

    Returns
    -------
    DataFrame
        A row a pair: ``finding`` and ``row`` (positions in the two tables), ``found``, ``hours``
        (from the raise to the finding).
    """
    begin = episodes["raised"].groupby(bout).min()
    still_open = episodes[["raised", "cleared"]].max().max()
    end = episodes["cleared"].fillna(still_open).groupby(bout).max()
    pairs = _pairs(findings, episodes.assign(bout=bout))
    word = pairs["found"]
    # A fault can only take what cuts the flow, and is of no gas.
    fits = np.where(
        pairs["kind"] == "fault",
        word.isin(OF_FAULTS) & ~pairs["gas_named"],
        word.isin([*CAUSES, NOTHING]),
    )
    pairs = pairs[fits & (pairs["hours"] >= 0) & (pairs["hours"] <= REACH_HOURS)]
    pairs = pairs.sort_values(["finding", "raised", "row"], kind="stable")
    last = pairs.groupby("finding")[["bout", "level", "kind", "gas"]].last()
    of = last.loc[pairs["finding"]]
    mine, theirs = pairs["bout"].to_numpy(object), of["bout"].to_numpy(object)
    alike = (pairs[["kind", "gas"]].to_numpy(object) == of[["kind", "gas"]].to_numpy(object)).all(1)
    other_level = pairs["level"].to_numpy(object) != of["level"].to_numpy(object)
    at_once = (begin.loc[mine].to_numpy() <= end.loc[theirs].to_numpy()) & (
        end.loc[mine].to_numpy() >= begin.loc[theirs].to_numpy()
    )
    pairs = pairs[(mine == theirs) | (alike & other_level & at_once)]
    return pairs[["finding", "row", "found", "hours"]].reset_index(drop=True)


def counts_of_findings(
    findings: pd.DataFrame, episodes: pd.DataFrame, raised: np.ndarray, cleared: np.ndarray
) -> dict[str, np.ndarray]:
    """Return what findings say of each alarm before any verdict, each of shape (E,).

    Parameters
    ----------
    findings : DataFrame
    episodes : DataFrame, E rows
        ``point``, ``gas``, ``level``, ``kind``, ``raised``, ``cleared``.
    raised, cleared : ndarray, shape (E,)
        [h]; cleared may be NaN.

    Returns
    -------
    dict
        ``gas_found``: findings of gas at the point and gas before the raise; ``other_found``:
        findings of anything harmless; ``nothing_found``: hours from the raise to the look that
        found nothing, NaN for none.
    """
    if findings.empty:
        none = np.zeros(len(episodes))
        return {"gas_found": none, "other_found": none, "nothing_found": none + np.nan}
    pairs = _pairs(findings, episodes)
    pairs = pairs[(pairs["hours"] < 0) & (pairs["kind"] != "fault")]
    harmless = [*(cause for cause in CAUSES if cause not in REAL), NOTHING]
    # There is no verdict yet, so that bouts are told by their gaps alone.
    same = np.full(len(episodes), "", dtype=object)
    hits = reached(findings, episodes, bouts(episodes, same, raised, cleared))
    looked = hits[hits["found"] == NOTHING].groupby("row")["hours"].min()
    return {
        "gas_found": _counts(pairs, ["gas"], len(episodes)),
        "other_found": _counts(pairs, harmless, len(episodes)),
        "nothing_found": looked.reindex(range(len(episodes))).to_numpy(float),
    }


def _counts(pairs: pd.DataFrame, words: list[str], n: int) -> np.ndarray:
    rows = pairs.loc[pairs["found"].isin(words), "row"].to_numpy(int)
    return np.bincount(rows, minlength=n).astype(float)


def _pairs(findings: pd.DataFrame, episodes: pd.DataFrame) -> pd.DataFrame:
    """Return all pairs of a finding and an alarm of its point (and gas, if it names one)."""
    gas = findings["gas"].astype("str").fillna("").replace("nan", "").to_numpy(object)
    left = pd.DataFrame(
        {
            "finding": np.arange(len(findings)),
            "time": findings["time"].to_numpy(),
            "point": findings["point"].astype("str").to_numpy(object),
            "of_gas": gas,
            "gas_named": gas != "",
            "found": found_words(findings),
        }
    )
    right = episodes.assign(
        row=np.arange(len(episodes)),
        point=episodes["point"].astype("str").to_numpy(object),
        gas=episodes["gas"].astype("str").fillna("").to_numpy(object),
        level=episodes["level"].astype("str").to_numpy(object),
    )
    names = [name for name in ("point", "gas", "level", "kind", "raised", "row", "bout")
             if name in right]  # fmt: skip
    pairs = left.merge(right[names], on="point")
    pairs["hours"] = (pd.to_datetime(pairs["time"], utc=True) - pairs["raised"]) / _HOUR
    return pairs[~pairs["gas_named"] | (pairs["of_gas"] == pairs["gas"])]
