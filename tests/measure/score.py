"""Scores of a diagnosis against known truth: confusion, safety, calibration, conditions.

A chattering point must not drown the rest: every episode counts one over the size of its group, a
group being one (ship, point, gas, level, cause, day).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.optimize import linear_sum_assignment
from scipy.stats import beta

from alarmsift.tables.schema import CAUSES, REAL, UNDETERMINED


def matched(episodes: pd.DataFrame, truth: pd.DataFrame, ship: str) -> pd.DataFrame:
    """Return the truth's episodes beside the verdicts, with group and weight.

    A verdict belongs to a truth row of the same kind, point, gas and level raised at the same
    time (to the second).
    """
    key = ["kind", "point", "gas", "level"]
    left = truth.copy()
    left["raised"] = pd.to_datetime(left["raised"], utc=True, format="ISO8601").dt.as_unit("us")
    for name in key:
        left[name] = left[name].fillna("").astype(str)
    left.loc[left["kind"] == "fault", "gas"] = ""
    left["level"] = left["level"].str.lower()
    right = episodes.copy()
    for name in key:
        right[name] = right[name].fillna("").astype(str)
    right["raised"] = right["raised"].dt.as_unit("us")
    right["found"] = True
    columns = [
        *key,
        "raised",
        "episode",
        "cause",
        "probability",
        "p_gas",
        "treat_as",
        "runner_up",
        "found",
    ]
    left = left.sort_values("raised").rename(columns={"cause": "truth"})
    both = pd.merge_asof(
        left[[*key, "raised", "truth"]],
        right[columns].sort_values("raised"),
        on="raised",
        by=key,
        direction="nearest",
        tolerance=pd.Timedelta(seconds=59),
    )
    both["found"] = both["found"].fillna(False).astype(bool)
    both["ship"] = ship
    day = both["raised"].dt.floor("D")
    group = [both[c] for c in ("ship", "kind", "point", "gas", "level", "truth")]
    both["group"] = both.groupby([*group, day]).ngroup().astype(str) + ship
    both["weight"] = 1.0 / both.groupby("group")["group"].transform("size")
    return both


@dataclass(frozen=True)
class Score:
    """What the accuracy command prints."""

    confusion: pd.DataFrame
    f1: pd.Series
    macro_f1: float
    real_groups: int
    real_lost: int
    real_bound: float
    nuisance_called_gas: float
    nuisance_settled: float
    undetermined: float
    calibration_error: float
    curve: pd.DataFrame
    groups: int
    not_found: float


def score(rows: pd.DataFrame) -> Score:
    """Return the scores of matched rows of any number of ships."""
    rows = rows[rows["truth"] != UNDETERMINED].copy()
    seen = rows[rows["found"]]
    cause = seen["cause"].astype(str)
    confusion = pd.crosstab(
        seen["truth"], cause, values=seen["weight"], aggfunc="sum", dropna=False
    ).fillna(0.0)
    confusion = confusion.reindex(
        index=[c for c in CAUSES if c in set(seen["truth"])],
        columns=[*CAUSES, UNDETERMINED],
        fill_value=0.0,
    )
    hit = pd.Series({c: confusion.loc[c, c] for c in confusion.index})
    precision = hit / confusion[list(hit.index)].sum(axis=0).replace(0, np.nan)
    recall = hit / rows.groupby("truth")["weight"].sum().reindex(hit.index)
    f1 = (2 * precision * recall / (precision + recall)).fillna(0.0)
    alarms = seen[seen["kind"] == "alarm"]
    real = alarms[alarms["truth"].isin(REAL)]
    lost = real.groupby("group")["treat_as"].apply(lambda t: (t == "nuisance").any())
    nuisance = alarms[~alarms["truth"].isin(REAL)]
    weight = nuisance["weight"].sum()
    curve, error = calibration(seen[seen["cause"] != UNDETERMINED])
    return Score(
        confusion=confusion,
        f1=f1,
        macro_f1=float(f1.mean()),
        real_groups=len(lost),
        real_lost=int(lost.sum()),
        real_bound=upper_bound(int(lost.sum()), len(lost)),
        nuisance_called_gas=float(
            nuisance.loc[nuisance["cause"].isin(REAL), "weight"].sum() / weight
        ),
        nuisance_settled=float(
            nuisance.loc[nuisance["treat_as"] == "nuisance", "weight"].sum() / weight
        ),
        undetermined=float(
            seen.loc[seen["cause"] == UNDETERMINED, "weight"].sum() / seen["weight"].sum()
        ),
        calibration_error=error,
        curve=curve,
        groups=rows["group"].nunique(),
        not_found=float(1.0 - rows["found"].mean()),
    )


def calibration(seen: pd.DataFrame) -> tuple[pd.DataFrame, float]:
    """Return the reliability curve in ten equal bins and its expected calibration error.

    Source: Naeini et al. 2015; Guo et al. 2017 (ECE, bins of equal width).
    """
    right = (seen["cause"] == seen["truth"]).astype(float)
    bins = np.minimum((seen["probability"].astype(float) * 10).astype(int), 9)
    frame = pd.DataFrame(
        {
            "bin": bins,
            "weight": seen["weight"],
            "stated": seen["probability"].astype(float) * seen["weight"],
            "right": right * seen["weight"],
        }
    )
    total = frame.groupby("bin").sum()
    curve = pd.DataFrame(
        {
            "stated": total["stated"] / total["weight"],
            "right": total["right"] / total["weight"],
            "weight": total["weight"],
        }
    )
    gap = (curve["stated"] - curve["right"]).abs()
    return curve, float((gap * curve["weight"]).sum() / curve["weight"].sum())


def upper_bound(lost: int, groups: int) -> float:
    """Return the one-sided 95 % upper bound of a share (Clopper and Pearson 1934)."""
    return 1.0 if groups == 0 else float(beta.ppf(0.95, lost + 1, groups - lost))


def match_conditions(
    found: pd.DataFrame, truth: pd.DataFrame, ends: tuple[pd.Timestamp, pd.Timestamp]
) -> pd.DataFrame:
    """Match conditions one to one, each covering at least half of the longer of the two.

    Returns
    -------
    DataFrame
        ``condition``, ``kind`` (hit, missed, false), ``point``, ``start``, ``end``,
        ``start_error_h``, ``why`` (the truth's where it is in the truth).
    """
    a, b = _spans(truth, ends), _spans(found, ends)
    out = []
    for key in sorted(set(a["key"]) | set(b["key"])):
        left, right = a[a["key"] == key], b[b["key"] == key]
        share = np.zeros((len(left), len(right)))
        for i, (s, e) in enumerate(zip(left["start"], left["end"], strict=True)):
            both = np.minimum(e, right["end"].to_numpy()) - np.maximum(s, right["start"].to_numpy())
            longer = np.maximum(e - s, (right["end"] - right["start"]).to_numpy())
            share[i] = np.clip(both, 0, None) / np.maximum(longer, 1e-9)
        i, j = linear_sum_assignment(-(share * (share >= 0.5)))
        good = share[i, j] >= 0.5
        i, j = i[good], j[good]
        for kind, frame, skip in (("missed", left, i), ("false", right, j), ("hit", left, None)):
            rest = frame.iloc[i] if skip is None else frame.drop(frame.index[skip])
            part = rest.assign(kind=kind)
            if skip is None:
                part["start_error_h"] = right["start"].to_numpy()[j] - left["start"].to_numpy()[i]
            out.append(part)
    columns = ["condition", "kind", "point", "start", "end", "start_error_h", "why"]
    if not out:
        return pd.DataFrame(columns=columns)
    return pd.concat(out, ignore_index=True).reindex(columns=columns)


def _spans(frame: pd.DataFrame, ends: tuple[pd.Timestamp, pd.Timestamp]) -> pd.DataFrame:
    start = pd.to_datetime(frame["start"], utc=True, format="ISO8601").fillna(ends[0])
    end = pd.to_datetime(frame["end"], utc=True, format="ISO8601").fillna(ends[1])
    hour = pd.Timedelta(hours=1)
    return pd.DataFrame(
        {
            "condition": frame["condition"].astype(str),
            "point": frame["point"].astype(str),
            "key": frame["condition"].astype(str) + "|" + frame["point"].astype(str),
            "start": (start - ends[0]) / hour,
            "end": (end - ends[0]) / hour,
            "why": frame.get("why", ""),
        }
    ).reset_index(drop=True)


def condition_table(rows: pd.DataFrame, point_months: float) -> pd.DataFrame:
    """Return found share, false reports a point-month and median start error by condition."""
    kinds = rows.groupby(["condition", "kind"]).size().unstack(fill_value=0)
    kinds = kinds.reindex(columns=["hit", "missed", "unseen", "false"], fill_value=0)
    error = rows[rows["kind"] == "hit"].groupby("condition")["start_error_h"]
    kinds["found"] = kinds["hit"] / (kinds["hit"] + kinds["missed"]).replace(0, np.nan)
    kinds["false_a_point_month"] = kinds["false"] / point_months
    kinds["median_start_error_h"] = error.apply(lambda e: float(np.median(np.abs(e))))
    return kinds
