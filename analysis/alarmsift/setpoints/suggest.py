"""The proposal for one point, gas and level, or the reason why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.setpoints.ceiling import ceiling, ceiling_words, overstepped
from alarmsift.setpoints.history import History
from alarmsift.setpoints.interval import LEVEL
from alarmsift.setpoints.tradeoff import SECOND_LOOK_MIN

# Nuisance alarms a point and 30 days that a proposal must get under (a default of ours: the user
# gives another with --goal).
GOAL_30D = 2.0
PLAIN = "1 of 1"
SUGGESTION_COLUMNS = [
    "point", "gas", "level", "unit", "outcome", "setpoint", "deadband", "new_setpoint",
    "new_deadband", "ceiling", "nuisance_30d", "new_nuisance_30d", "mend_30d", "fix_first",
    "days_more", "confirm_cost_min", "second_look_cost_min", "why",
]  # fmt: skip


@dataclass(frozen=True)
class Verdict:
    """What comes out, its reason, and the row of the trade-off that is proposed (-1 = none)."""

    outcome: str
    why: str
    row: int = -1
    days_more: float = math.nan


def days_needed(goal: float) -> float:
    """Return the watched days after which no alarm at all shows a rate under the goal [d].

    Examples
    --------
    >>> round(days_needed(2.0), 1)
    44.9
    """
    return -math.log((1.0 - LEVEL) / 2.0) / goal * 30.0


def allowed_top(history: History, own: dict[str, float]) -> float:
    """Return the least safe setpoint that may be proposed [gas's unit]; today's where none may."""
    limit = ceiling(history.gas, history.space_kind, own)
    today, sign = history.today.value, history.sign
    if math.isnan(limit) or history.events.size or history.neighbour_real:
        return today
    top = min(sign * limit, sign * history.next_level)
    return sign * max(top, sign * today)


def judge(history: History, rows: pd.DataFrame, *, own: dict[str, float], goal: float) -> Verdict:
    """Return the mildest admissible change that meets the goal.

    Parameters
    ----------
    history : History
    rows : DataFrame
        The trade-off, today's setting first.
    own : dict
        The user's ceilings by gas.
    goal : float
        Nuisance alarms a point and 30 days.
    """
    now = rows.iloc[0]
    limit = overstepped(history.gas, history.space_kind, own)
    if history.lowest and not math.isnan(limit) and history.sign * (now["setpoint"] - limit) > 1e-9:
        where = ceiling_words(history.gas, history.space_kind or "other")
        return Verdict(
            "above_ceiling",
            f"Today's setpoint stands past the ceiling of {limit:g} {history.unit} ({where}). The "
            "responsible persons should look at this first; no other change is proposed.",
        )
    if now["nuisance_30d"] <= goal:
        mend = (
            " What alarms there are mostly ask for maintenance, not for another setpoint."
            if now["mend_30d"] > now["nuisance_30d"]
            else ""
        )
        if bouts := len(history.events):
            here = "1 bout of alarms here is" if bouts == 1 else f"{bouts} bouts of alarms here are"
            mend += (
                f" {here} gas or not settled, counted as real, not as nuisance: settle that before "
                "any setpoint is spoken of."
            )
        return Verdict(
            "none_needed", f"Today's count is within the goal of {goal:g} in 30 days.{mend}"
        )
    short = days_needed(goal) - float(now["watched_days"])
    if short > 0:
        return Verdict(
            "too_short",
            f"{now['watched_days']:.0f} watched days can't show a rate under {goal:g} in 30 days, "
            f"even with no alarm at all; {short:.0f} more watched days could.",
            days_more=short,
        )
    limit = ceiling(history.gas, history.space_kind, own)
    return _mildest(history, rows, limit=limit, top=allowed_top(history, own), goal=goal)


def _mildest(
    history: History, rows: pd.DataFrame, *, limit: float, top: float, goal: float
) -> Verdict:
    now, sign = rows.iloc[0], history.sign
    away = sign * (rows["setpoint"] - now["setpoint"])
    # The alarm is never held back: plain rules only, and no narrower deadband.
    fits = (rows["rule"] == PLAIN) & (away >= -1e-9) & (rows["deadband"] >= now["deadband"] - 1e-9)
    fits &= sign * rows["setpoint"] <= sign * top + 1e-9
    fits &= (rows["high_30d"] <= goal) & (rows["caught"] >= now["caught"])
    fits &= ~(rows["delay_visits"] > 0)
    real = int(len(history.events)) + history.neighbour_real
    if not fits.any() or now["rule"] != PLAIN:
        return Verdict("none_found", _why_not(history, limit, real, str(now["rule"])))
    chosen = np.flatnonzero(fits)
    wider = rows["deadband"].to_numpy(float)[chosen]
    row = int(chosen[np.lexsort((wider, away.to_numpy(float)[chosen]))[0]])
    new = rows.iloc[row]
    change = f"deadband {now['deadband']:g} to {new['deadband']:g} {history.unit}"
    if new["setpoint"] != now["setpoint"]:
        change = f"setpoint {now['setpoint']:g} to {new['setpoint']:g} {history.unit}, {change}"
    price = f" A slow leak would be told {new['leak_delay_min']:.0f} min later." if top else ""
    return Verdict(
        "proposed",
        f"Proposal for the responsible persons to weigh: {change}. On this history it leaves "
        f"{new['nuisance_30d']:.1f} nuisance alarms in 30 days ({new['low_30d']:.1f} to "
        f"{new['high_30d']:.1f}), not {now['nuisance_30d']:.1f}; no real event is lost.{price}",
        row,
    )


def _why_not(history: History, limit: float, real: int, rule: str) -> str:
    if rule != PLAIN:
        return f"The alarm waits for {rule} visits today; that is to be looked at first."
    if real:
        return (
            f"{real} alarms here or in the same space are gas or not settled, so the setpoint is "
            "not raised, and no wider deadband meets the goal. Settle those alarms first."
        )
    if math.isnan(limit):
        return (
            f"There is no published ceiling for {history.gas}, so no move to the less safe side is "
            "proposed, and no wider deadband meets the goal."
        )
    return f"No setting up to the ceiling of {limit:g} {history.unit} is shown to meet the goal."


def suggestion(
    history: History, rows: pd.DataFrame, verdict: Verdict, *, own: dict[str, float], cycle: float
) -> dict[str, object]:
    """Return one row of SUGGESTION_COLUMNS."""
    now = rows.iloc[0]
    new = rows.iloc[verdict.row] if verdict.row >= 0 else None
    return {
        "point": history.point,
        "gas": history.gas,
        "level": history.level,
        "unit": history.unit,
        "outcome": verdict.outcome,
        "setpoint": now["setpoint"],
        "deadband": now["deadband"],
        "new_setpoint": math.nan if new is None else new["setpoint"],
        "new_deadband": math.nan if new is None else new["deadband"],
        "ceiling": ceiling(history.gas, history.space_kind, own),
        "nuisance_30d": now["nuisance_30d"],
        "new_nuisance_30d": math.nan if new is None else new["nuisance_30d"],
        "mend_30d": now["mend_30d"],
        "fix_first": fix_first(history),
        "days_more": verdict.days_more,
        "confirm_cost_min": cycle,
        "second_look_cost_min": SECOND_LOOK_MIN,
        "why": verdict.why,
    }


def fix_first(history: History) -> str:
    """Return the causes that maintenance cures, with their number of alarms."""
    alarms = history.episodes
    counts = alarms.loc[alarms["treat_as"] == "nuisance", "cause"].value_counts()
    from_maintenance = {k: v for k, v in counts.items() if k not in ("tight_setpoint", "spike")}
    return ", ".join(f"{k} {v}" for k, v in sorted(from_maintenance.items()))
