"""The proposal for one point, gas and level, or the reason why there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.setpoints.ceiling import ceiling, ceiling_words, overstepped
from alarmsift.setpoints.history import DOUBTFUL_FROM, History
from alarmsift.setpoints.interval import LEVEL
from alarmsift.setpoints.tradeoff import SECOND_LOOK_MIN

# Nuisance alarms a point and 30 days that a proposal must get under (a default of ours: the user
# gives another with --goal).
GOAL_30D = 2.0
# A change that leaves more of today's alarms than this is no cure; and so far under today's count
# the upper end of a higher setpoint's must lie where it is over the goal [-] (defaults of ours).
LEFT_OVER, FAR_UNDER = 0.2, 1.0 / 3.0
# No count in 30 days is told from less than that [d] (default of ours).
FEWEST_DAYS = 30.0
PLAIN, BACKGROUND = "1 of 1", "tight_setpoint"
SUGGESTION_COLUMNS = [
    "point", "gas", "level", "unit", "outcome", "setpoint", "deadband", "new_setpoint",
    "new_deadband", "ceiling", "nuisance_30d", "repeats_30d", "left_30d", "left_low", "left_high",
    "mend_30d", "fix_first", "days_more", "confirm_cost_min", "second_look_cost_min", "why",
]  # fmt: skip


@dataclass(frozen=True)
class Verdict:
    """What comes out, its reason, and the row of the trade-off that is proposed (-1 = none)."""

    outcome: str
    why: str
    row: int = -1
    days_more: float = math.nan


def days_needed(rate: float) -> float:
    """Return the watched days after which no alarm at all shows less than a rate in 30 days [d].

    Examples
    --------
    >>> round(days_needed(2.0), 1)
    44.9
    >>> days_needed(50.0)
    30.0
    """
    return max(-math.log((1.0 - LEVEL) / 2.0) / rate * 30.0, FEWEST_DAYS)


def unsettled(history: History) -> int:
    """Return the alarms here and in the same space that are gas or not settled, bouts as one."""
    return int((~history.of_held).sum()) + history.held + history.neighbour_real


def rise_is_told(history: History, own: dict[str, float]) -> bool:
    """Tell whether a further level, at or under any ceiling, tells a rise while this one stands."""
    limit = ceiling(history.gas, history.space_kind, own)
    beyond = history.sign * history.next_level
    return bool(np.isfinite(beyond) and (math.isnan(limit) or beyond <= history.sign * limit))


def allowed_top(history: History, own: dict[str, float]) -> float:
    """Return the least safe setpoint that may be proposed [gas's unit]; today's where none may."""
    limit = ceiling(history.gas, history.space_kind, own)
    today, sign = history.today.value, history.sign
    if math.isnan(limit) or unsettled(history):
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
    if now["raises_30d"] <= goal:
        return Verdict("none_needed", _calm_words(history, now, goal))
    near = int((history.episodes["cause"] == BACKGROUND).sum())
    if near * 30.0 / float(now["watched_days"]) <= goal:
        return Verdict(
            "none_found",
            f"{near} of the {len(history.episodes)} alarms here read as a steady background near "
            "the setpoint; no setpoint cures the rest.",
        )
    if doubt := _which_setpoint(history):
        return Verdict("none_found", doubt)
    watched = float(now["watched_days"])
    needed = days_needed(float(now["raises_30d"]))
    if watched < needed:
        few = (
            f"{math.floor(watched)} watched days are too few to judge a count in 30 days; "
            if needed <= FEWEST_DAYS
            else f"{math.floor(watched)} watched days can't show fewer than today's "
            f"{now['raises_30d']:.1f} alarms in 30 days, even with no alarm at all; "
        )
        return _too_short(few, needed, watched)
    return _mildest(history, rows, own=own, goal=goal)


def _too_short(few: str, needed: float, watched: float) -> Verdict:
    words = f"{few}that takes {math.ceil(needed)}."
    return Verdict("too_short", words, days_more=needed - watched)


def _which_setpoint(history: History) -> str:
    """Return why it is in doubt which setpoint is meant, or nothing."""
    today = history.today.value
    if math.isnan(history.stated):
        return (
            f"No file states this setpoint; {today:g} {history.unit} is only read from the alarms. "
            "State it in the setpoints table or site.toml first."
        )
    if abs(history.stated - today) > 1e-9:
        return (
            f"The setpoint moved within these logs, from {history.stated:g} to {today:g} "
            f"{history.unit}. Which of them is meant is to be settled first."
        )
    return ""


def _calm_words(history: History, now: pd.Series, goal: float) -> str:
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
    return f"Today's count is within the goal of {goal:g} in 30 days.{mend}"


def _mildest(
    history: History, rows: pd.DataFrame, *, own: dict[str, float], goal: float
) -> Verdict:
    now, sign = rows.iloc[0], history.sign
    top = allowed_top(history, own)
    away = sign * (rows["setpoint"] - now["setpoint"])
    # The alarm is never held back: plain rules only, and no narrower deadband. And it is never
    # drowned: what is not just this background is raised anew as soon as today.
    fits = (rows["rule"] == PLAIN) & (away >= -1e-9) & (rows["deadband"] >= now["deadband"] - 1e-9)
    fits &= sign * rows["setpoint"] <= sign * top + 1e-9
    fits &= (rows["not_told"] == 0) & ~(rows["delay_visits"] > 0)
    fits &= rows["caught"] >= now["caught"]
    # The goal is met on this history with four in five alarms gone. A few alarms can't show that it
    # always will be; that they are fewer than today's is shown by the upper end. That is enough for
    # a deadband, which is no less safe; a setpoint takes more to be raised.
    shown = fits & (rows["raises_30d"] <= np.minimum(goal, LEFT_OVER * now["raises_30d"]))
    shown &= rows["high_30d"] < now["raises_30d"]
    surely = rows["high_30d"] <= max(goal, FAR_UNDER * now["raises_30d"])
    watched, needed = float(now["watched_days"]), days_needed(goal)
    higher = shown & surely & (away > 1e-9)
    shown &= (away <= 1e-9) | (higher & (watched >= needed))
    brief = rows["stale"] <= now["stale"]
    # A short alarm goes before one that stands.
    for able in (shown & brief, shown & rise_is_told(history, own)):
        if able.any() and now["rule"] == PLAIN:
            chosen = np.flatnonzero(able)
            wider = rows["deadband"].to_numpy(float)[chosen]
            row = int(chosen[np.lexsort((wider, away.to_numpy(float)[chosen]))[0]])
            return Verdict("proposed", _proposal(history, now, rows.iloc[row], goal), row)
    if higher.any() and watched < needed and now["rule"] == PLAIN:
        few = (
            f"No wider deadband may be proposed, and {math.floor(watched)} watched days are too "
            "few to raise a setpoint on; "
        )
        return _too_short(few, needed, watched)
    return Verdict(
        "none_found", _why_not(history, own, str(now["rule"]), drowned=bool(shown.any()))
    )


def _proposal(history: History, now: pd.Series, new: pd.Series, goal: float) -> str:
    """Return the proposal with what it leaves and what it costs."""
    change = f"deadband {now['deadband']:g} to {new['deadband']:g} {history.unit}"
    price = " No alarm would be held back."
    if new["setpoint"] != now["setpoint"]:
        moved = f"setpoint {now['setpoint']:g} to {new['setpoint']:g} {history.unit}"
        same = new["deadband"] == now["deadband"]
        change = moved if same else f"{moved}, {change}"
        price = f" A slow leak would be told {new['leak_delay_min']:.0f} min later."
    if new["stale"] > now["stale"]:
        price += (
            f" It would stand {new['hours_in_alarm']:.0f} h of the history, not "
            f"{now['hours_in_alarm']:.0f} h, for more than a day at a time: while it stands, a "
            "rise is told by the next level only."
        )
    if history.held:
        price += (
            f" {history.held} of the alarms read as a steady background but are not settled: they "
            "stay to be treated as gas, and the setpoint is not raised. Bouts of it that are less "
            "likely gas than that may come as one alarm that stands on, and are not raised anew."
        )
    shown = (
        f" They would be fewer; that they stay within the goal of {goal:g} isn't shown yet."
        if new["high_30d"] > goal
        else ""
    )
    return (
        f"Proposal for the responsible persons to weigh: {change}. On this history it leaves "
        f"{new['raises_30d']:.1f} such alarms in 30 days ({new['low_30d']:.1f} to "
        f"{new['high_30d']:.1f}), not {now['raises_30d']:.1f}.{shown} Every alarm that is "
        f"{DOUBTFUL_FROM:.0%} likely gas or more is raised as soon as today.{price}"
    )


def _why_not(history: History, own: dict[str, float], rule: str, *, drowned: bool) -> str:
    limit = ceiling(history.gas, history.space_kind, own)
    if rule != PLAIN:
        return f"The alarm waits for {rule} visits today; that is to be looked at first."
    band = "no wider deadband meets the goal"
    if drowned:
        band = (
            "a deadband that meets the goal would let the alarm stand for more than a day with no "
            "further level at or under the ceiling to tell a rise"
        )
    if real := unsettled(history):
        return (
            f"{real} alarms here or in the same space are gas or not settled, so the setpoint is "
            f"not raised, and {band}. Settle those alarms first."
        )
    if math.isnan(limit):
        return (
            f"There is no published ceiling for {history.gas}, so no move to the less safe side is "
            f"proposed, and {band}."
        )
    return (
        f"No setting up to the ceiling of {limit:g} {history.unit} is shown to meet the goal: "
        f"{band}."
    )


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
        "repeats_30d": now["repeats_30d"],
        "left_30d": math.nan if new is None else new["raises_30d"],
        "left_low": math.nan if new is None else new["low_30d"],
        "left_high": math.nan if new is None else new["high_30d"],
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
    from_maintenance = {k: v for k, v in counts.items() if k != BACKGROUND}
    return ", ".join(f"{k} {v}" for k, v in sorted(from_maintenance.items()))
