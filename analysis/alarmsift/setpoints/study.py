"""The setpoint study of one ship: replay, theory beside it, proposals, and the leak question."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from alarmsift.setpoints.candidate import Setting, grid, parse_try
from alarmsift.setpoints.ceiling import ceiling
from alarmsift.setpoints.history import HELD, LEFT, NOTHING, History, histories
from alarmsift.setpoints.interval import rate_interval
from alarmsift.setpoints.leak import AIR_CHANGES, LFL_VOL_PERCENT, leak_answer
from alarmsift.setpoints.replay import state_of
from alarmsift.setpoints.suggest import (
    GOAL_30D,
    SUGGESTION_COLUMNS,
    judge,
    suggestion,
)
from alarmsift.setpoints.theory import delay_timer, run_over
from alarmsift.setpoints.tradeoff import ROW_COLUMNS, tradeoff
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress

ALL = "all points"
FAR_TOP = 1.5  # of today's setpoint: where a replay without any ceiling ends [-]
LEAK_L_MIN = 10.0  # the leak that is asked about, where none is stated [L/min of vapour]
QUIET = 20  # fewest clean readings from which theory is told
VANISHED_COLUMNS = [
    "episode", "point", "gas", "level", "raised", "minutes", "peak", "cause", "treat_as", "why",
]  # fmt: skip
THEORY_COLUMNS = [
    "point", "gas", "level", "setpoint", "deadband", "mean", "sd", "autocorrelation", "share",
    "raises_30d", "raises_30d_ar1", "replayed_30d", "why_apart",
]  # fmt: skip
LEAK_COLUMNS = [
    "space", "point", "kind", "volume_m3", "air_changes", "setpoint", "smallest", "within_day",
    "leak", "crossing_min", "mean_min", "worst_min",
]  # fmt: skip


@dataclass(frozen=True)
class SetpointStudy:
    """What a setpoint study found.

    Attributes
    ----------
    suggestions : DataFrame
        SUGGESTION_COLUMNS, a row a point, gas and level.
    rows : DataFrame
        ROW_COLUMNS: today's and the proposed setting, and those that no other setting of the
        same rule beats in both nuisance and delay; also for ``all points``.
    vanished : DataFrame
        VANISHED_COLUMNS: the logged alarms that a proposed setting would not have raised.
    theory, leaks : DataFrame
        THEORY_COLUMNS and LEAK_COLUMNS.
    leak_curves : DataFrame
        ``space``, ``leak`` [L/min], ``mean_min``, ``worst_min``: over a range of leaks.
    tried : DataFrame
        ROW_COLUMNS: for each setting asked about, today's row and its own.
    goal : float
        Nuisance alarms a point and 30 days.
    scan_min : float
        Time of a round [min].
    replayed : int
        Settings replayed at each point, gas and level.
    """

    name: str
    suggestions: pd.DataFrame
    rows: pd.DataFrame
    vanished: pd.DataFrame
    theory: pd.DataFrame
    leaks: pd.DataFrame
    leak_curves: pd.DataFrame
    tried: pd.DataFrame
    goal: float
    scan_min: float
    replayed: int


def study_setpoints(  # noqa: PLR0913  (what a user may state)
    logs: Logs,
    diagnosis: Diagnosis,
    *,
    goal: float = GOAL_30D,
    leak: float = LEAK_L_MIN,
    air_changes: float | None = None,
    tries: Sequence[str] = (),
    progress: Progress = SILENT,
) -> SetpointStudy:
    """Return the setpoint study of one ship.

    Parameters
    ----------
    logs : Logs
        What ``read_logs`` gives.
    diagnosis : Diagnosis
        What ``diagnose`` gives for them.
    goal : float
        Nuisance alarms a point and 30 days that a proposal must get under.
    leak : float
        The leak that is asked about [L/min of vapour].
    air_changes : float, optional
        Ventilation of every space [1/h]; by kind of space when None.
    tries : sequence of str
        Settings to set against today's, as ``HC:low=12,deadband=1,confirm=2``.
    progress : Progress
        Told how far the work is.

    Raises
    ------
    InputError
        When a setting asked about can't be understood.
    """
    asked = [parse_try(words) for words in tries]
    cycle, own = diagnosis.cycle_minutes, logs.site.ceiling
    found, sums = histories(diagnosis), defaultdict(list)
    progress.stage("Replaying settings", total=len(found))
    tops = _tops(found, own)
    advice, rows, theory, gone, tried, count = [], [], [], [], [], 0
    for one in found:
        key = (one.gas, one.level, one.today)
        settings = grid(one.today, tops[key], falling=one.sign < 0)
        frame, daily = tradeoff(one, settings, cycle)
        verdict = judge(one, frame, own=own, goal=goal)
        advice.append(suggestion(one, frame, verdict, own=own, cycle=cycle))
        if verdict.row >= 0:
            frame.loc[verdict.row, "proposed"] = True
            gone.append(_vanished(one, settings[verdict.row]))
        rows.append(_front(frame))
        theory += [
            _theory(one, frame.iloc[row], settings[row], cycle)
            for row in {0, max(verdict.row, 0)}
            if _quiet(one).size >= QUIET
        ]
        sums[key].append((frame, daily, one.watched))
        tried += _tried(one, asked, cycle)
        count = max(count, len(settings))
        progress.step()
    leaks = _leaks(logs, diagnosis, leak=leak, air_changes=air_changes)
    site = [_together(parts, cycle) for parts in sums.values() if len(parts) > 1]
    return SetpointStudy(
        name=logs.site.name or logs.name,
        suggestions=pd.DataFrame(advice, columns=SUGGESTION_COLUMNS),
        rows=_joined([*[_front(frame) for frame in site], *rows], ROW_COLUMNS),
        vanished=_joined(gone, VANISHED_COLUMNS),
        theory=pd.DataFrame(theory, columns=THEORY_COLUMNS),
        leaks=leaks,
        leak_curves=_leak_curves(leaks, lfl=_lfl(logs), scan=cycle),
        tried=_joined(tried, ROW_COLUMNS),
        goal=goal,
        scan_min=cycle,
        replayed=count,
    )


def _joined(frames: list[pd.DataFrame], columns: list[str]) -> pd.DataFrame:
    filled = [frame for frame in frames if len(frame)]
    return pd.concat(filled, ignore_index=True) if filled else pd.DataFrame(columns=columns)


def _tops(found: list[History], own: dict[str, float]) -> dict[tuple[str, str, Setting], float]:
    """Return how far each group of points with one setting is replayed [gas's unit]."""
    out: dict[tuple[str, str, Setting], float] = {}
    for one in found:
        key, limit = (one.gas, one.level, one.today), ceiling(one.gas, one.space_kind, own)
        far = one.today.value * (FAR_TOP if one.sign > 0 else 1.0 / FAR_TOP)
        top = one.sign * max(
            one.sign * one.today.value, one.sign * (far if np.isnan(limit) else limit)
        )
        out[key] = one.sign * max(one.sign * out.get(key, top), one.sign * top)
    return out


def _front(frame: pd.DataFrame) -> pd.DataFrame:
    """Return today's and the proposed row and those unbeaten within their rule."""
    order = frame.sort_values(["rule", "leak_delay_min", "raises_30d", "deadband"], kind="stable")
    best = order.groupby("rule")["raises_30d"].cummin().groupby(order["rule"]).shift()
    better = order["raises_30d"] < best.fillna(np.inf)
    kept = better.reindex(frame.index) | frame["today"] | frame["proposed"]
    return frame[kept]


def _together(
    parts: list[tuple[pd.DataFrame, np.ndarray, np.ndarray]], cycle: float
) -> pd.DataFrame:
    """Return the rows of all points that share one setting, nuisance summed over them."""
    frame = parts[0][0].copy()
    frame["point"], frame["proposed"] = ALL, False
    for name in (
        "nuisance_30d", "repeats_30d", "raises_30d", "mend_30d", "unjudged_30d", "events",
        "caught", "not_told", "hours_in_alarm", "stale",
    ):  # fmt: skip
        frame[name] = np.sum([each[name].to_numpy(float) for each, _, _ in parts], axis=0)
    late = np.array([each["delay_visits"].to_numpy(float) for each, _, _ in parts])
    caught = np.where(np.isfinite(late), [each["caught"] for each, _, _ in parts], 0.0)
    total = caught.sum(axis=0)
    mean = np.nansum(np.nan_to_num(late) * caught, axis=0) / np.maximum(total, 1.0)
    frame["delay_visits"] = np.where(total > 0, mean, np.nan)
    frame["delay_min"] = frame["delay_visits"] * cycle
    watched = np.mean([each for _, _, each in parts], axis=0)
    frame["watched_days"] = float(watched.sum())
    daily = np.sum([each for _, each, _ in parts], axis=0)
    frame["low_30d"], frame["high_30d"] = rate_interval(daily, watched)
    return frame


def _vanished(history: History, setting: Setting) -> pd.DataFrame:
    """Return the logged alarms during which the setting would not have been in alarm."""
    alarms = history.episodes
    state = state_of(history.danger, setting, history.sign)
    origin = history.origin
    start = (alarms["raised"] - origin).dt.total_seconds().to_numpy(float) / 3600.0
    end = start + alarms["minutes"].to_numpy(float) / 60.0
    total = np.concatenate([[0], np.cumsum(state)])
    first = np.searchsorted(history.hours, start - history.lag, "left")
    last = np.searchsorted(history.hours, end, "right")
    return alarms[total[last] == total[first]][VANISHED_COLUMNS]


def _quiet(history: History) -> np.ndarray:
    """Return the clean readings: outside every alarm but those that a setpoint may cure."""
    return history.danger[np.isin(history.kind_of, (NOTHING, LEFT, HELD))]


def _theory(history: History, row: pd.Series, setting: Setting, cycle: float) -> dict[str, object]:
    """Return the closed forms for one setting, beside what the replay counted."""
    quiet = _quiet(history)
    mean, spread = float(quiet.mean()), max(float(quiet.std()), 1e-6)
    around = quiet - mean
    link = float(np.clip((around[1:] * around[:-1]).mean() / spread**2, 0.0, 0.99))
    limit = (history.sign * setting.value - mean) / spread
    far = (history.sign * setting.value - setting.deadband - mean) / spread
    normal = (run_over(limit, 1, correlation=0.0), 1.0 - run_over(far, 1, correlation=0.0))
    plain = delay_timer(normal, (1.0, 0.0))
    visits = 30.0 * 1440.0 / cycle
    tied = max(run_over(limit, 1, correlation=link) - run_over(limit, 2, correlation=link), 0.0)
    return {
        "point": history.point,
        "gas": history.gas,
        "level": history.level,
        "setpoint": setting.value,
        "deadband": setting.deadband,
        "mean": history.sign * mean,
        "sd": spread,
        "autocorrelation": link,
        "share": plain.share,
        "raises_30d": plain.raises * visits,
        "raises_30d_ar1": tied * visits,
        "replayed_30d": row["raises_30d"],
        "why_apart": _why_apart(quiet, plain.raises * visits, tied * visits, row),
    }


def _why_apart(quiet: np.ndarray, alone: float, tied: float, row: pd.Series) -> str:
    low, high = float(row["low_30d"]), float(row["high_30d"])
    if low <= tied <= high:
        return "Theory with the measured autocorrelation lies within the replay's interval."
    if low <= alone <= high:
        return (
            "Independent readings would explain the count; the autocorrelation is of slow swings."
        )
    level = np.array([part.mean() for part in np.array_split(quiet, 10)])
    if level.std() > 0.5 * quiet.std():
        return "The background moved during the logs: one mean and one spread do not describe it."
    if tied < low:
        return "The readings have heavier tails than a normal law (single high visits)."
    return "The readings are bounded (display steps, no value under nought): no normal law."


def _tried(
    history: History, asked: list[tuple[str, str, dict[str, float]]], cycle: float
) -> list[pd.DataFrame]:
    """Return today's row and the row asked about, for each setting that speaks of this level."""
    out = []
    for gas, level, words in asked:
        if (gas, level) != (history.gas, history.level):
            continue
        needed = int(words.get("confirm", 1))
        setting = replace(
            history.today,
            value=words["value"],
            deadband=words.get("deadband", history.today.deadband),
            needed=needed,
            of=int(words.get("of", needed)),
        )
        out.append(tradeoff(history, [history.today, setting], cycle)[0])
    return out


def _leaks(
    logs: Logs, diagnosis: Diagnosis, *, leak: float, air_changes: float | None
) -> pd.DataFrame:
    """Return the leak question for the lowest flammable setpoint of each space."""
    about = logs.points.dropna(subset=["volume_m3"]).drop_duplicates("space")
    limits = diagnosis.setpoints[diagnosis.setpoints["gas"] == "HC"]
    now = limits.drop_duplicates(["point", "level"], keep="last").groupby("point")["value"].min()
    lfl = _lfl(logs)
    rows = []
    for row in about.itertuples():
        if row.point not in now or row.volume_m3 <= 0:
            continue
        kind = str(row.kind)
        changes = AIR_CHANGES.get(kind, 0.0) if air_changes is None else air_changes
        limit = float(now[row.point])
        answer = leak_answer(
            limit=limit,
            lfl=lfl,
            volume=float(row.volume_m3),
            air_changes=changes,
            leak=leak,
            scan=diagnosis.cycle_minutes,
        )
        space = row.point if pd.isna(row.space) else row.space
        rows.append(
            (
                space,
                row.point,
                kind,
                row.volume_m3,
                changes,
                limit,
                answer.smallest,
                answer.within_day,
                leak,
                answer.crossing,
                answer.mean,
                answer.worst,
            )
        )
    return pd.DataFrame(rows, columns=LEAK_COLUMNS)


def _lfl(logs: Logs) -> float:
    return LFL_VOL_PERCENT if logs.site.lfl is None else logs.site.lfl[1]


def _leak_curves(leaks: pd.DataFrame, *, lfl: float, scan: float) -> pd.DataFrame:
    """Return the time to alarm in every space over a range of leaks [L/min of vapour]."""
    rows = []
    for one in leaks.itertuples():
        for leak in np.geomspace(0.3, 30_000.0, 61):
            found = leak_answer(
                limit=one.setpoint,
                lfl=lfl,
                volume=one.volume_m3,
                air_changes=one.air_changes,
                leak=float(leak),
                scan=scan,
            )
            if np.isfinite(found.mean):
                rows.append((one.space, leak, found.mean, found.worst))
    return pd.DataFrame(rows, columns=["space", "leak", "mean_min", "worst_min"])
