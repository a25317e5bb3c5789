"""Plain features of an alarm for a general classifier, from the canonical tables alone.

Whatever may tell causes apart and can be counted without the package's measuring. Each family is
one function; columns are named ``family.feature``. Readings are in setpoints, in noise widths or
in shares of the excess over the point's last day at the raise.
"""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd

from alarmsift.tables.schema import ACTIONS, POINT_KINDS
from tests.measure.rounds import BEFORE as AT
from tests.measure.rounds import Raised

Columns = dict[str, np.ndarray]
LAGS_H = (-96.0, -48.0, -24.0, -6.0, -2.0, 2.0, 6.0, 24.0, 48.0, 96.0)
NEAR_H = (0.34, 2.0, 12.0, 72.0)
FAR_H = 96.0  # a log row further away says nothing [h]


def features(e: Raised) -> pd.DataFrame:
    """Return the features, one row an episode."""
    out: Columns = {}
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore", RuntimeWarning)  # rows without a single number
        for family in FAMILIES:
            name = family.__name__
            out |= {f"{name}.{key}": column for key, column in family(e).items()}
    return pd.DataFrame(out).astype("float32").replace([np.inf, -np.inf], np.nan)


def size(e: Raised) -> Columns:
    """How large: reading, peak, background and room against the setpoint."""
    r, s, noise, base = e.rounds, e.setpoint, e.own(e.rounds.noise), e.own(e.rounds.base)
    x, usual = e.of(r.value), e.of(r.usual)[:, AT]
    level = e.table["level"].astype(str).str.lower()
    return {
        "gas": e.gas.astype(float),
        "low_level": level.isin(["low", "al1"]).to_numpy(float),
        "fault": e.fault.astype(float),
        "setpoint_noises": s / noise,
        "value": x[:, AT] / s,
        "over_noises": (x[:, AT] - s) / noise,
        "peak": np.nanmax(x[:, AT:], axis=1) / s,
        "base": base / s,
        "usual": usual / s,
        "room_noises": (s - usual) / noise,
        "usual_over_base": (usual - base) / s,
    }


def course(e: Raised) -> Columns:
    """How it came and went at this point: readings around, runs, rise, decay, days around."""
    r, s, noise = e.rounds, e.setpoint, e.own(e.rounds.noise)[:, None]
    x, rise = e.of(r.value), _rise(e)
    usual, e0 = e.of(r.usual)[:, AT], rise[:, AT]
    out = {f"x{k - AT:+d}": x[:, k] / s for k in range(x.shape[1])}
    out |= {f"e{k - AT:+d}": rise[:, k] / e0 for k in range(x.shape[1]) if k != AT}
    half = np.nan_to_num(rise) >= 0.5 * e0[:, None]
    out["run_over"] = _run(x[:, AT:] >= s[:, None])
    out["run_half"] = _run(half[:, AT:])
    out["run_half_before"] = _run(half[:, AT - 1 :: -1])
    after, step = rise[:, AT:], np.diff(rise, axis=1)
    top = np.nan_to_num(after, nan=-1e9).argmax(axis=1)
    peak = after[np.arange(len(after)), top]
    bend = np.nanmedian(np.abs(np.diff(step, axis=1)), axis=1)
    out |= {
        "visits_to_peak": top.astype(float),
        "first_of_peak": e0 / peak,
        "last_before_of_peak": rise[:, AT - 1] / peak,
        "step_up": np.nanmax(step, axis=1) / peak,
        "step_down": np.nanmin(step, axis=1) / peak,
        "down_share": np.nanmean(step[:, AT:] < -noise, axis=1),
        "up_share": np.nanmean(step[:, AT:] > noise, axis=1),
        "rough_noises": bend / noise[:, 0],
        "rough_of_peak": bend / peak,
        "scatter_before": np.nanstd(step[:, :AT], axis=1) / noise[:, 0],
        "scatter_after": np.nanstd(step[:, AT:], axis=1) / noise[:, 0],
        "same_after": np.nanmean(step[:, AT:] == 0, axis=1),
        "same_before": np.nanmean(step[:, :AT] == 0, axis=1),
    }
    visit = np.arange(after.shape[1])[None, :]
    past = (visit >= top[:, None]) & (after > 0.1 * peak[:, None])
    logs = np.where(past, np.log(after / peak[:, None]), np.nan)
    slope = _slope(logs, np.broadcast_to(visit, logs.shape).astype(float))
    out["decay_a_hour"] = slope / r.cycle
    left = logs - slope[:, None] * visit
    out["decay_misfit"] = np.nanstd(left, axis=1)
    for lag in LAGS_H:
        then = e.at(lag)
        out[f"own{lag:+.0f}h"] = (e.of(r.value, then) - usual) / e0
        out[f"day{lag:+.0f}h"] = (e.of(r.usual, then) - usual) / e0
    return out


def before_in_round(e: Raised) -> Columns:
    """What the analyser drew just before and after: carry-over, stale samples, test gas."""
    r, s, noise = e.rounds, e.setpoint, e.own(e.rounds.noise)
    rise, n = _rise(e), len(e.rounds.hours)
    over, head = r.value - r.base[r.point], e.window[:, AT]
    previous, point = np.append(r.previous, n), np.append(r.point, -1)
    before = e.of(over, previous[e.window])
    out = {f"prev{k:+d}": before[:, AT + k] / s for k in (-3, -2, -1, 0, 1, 2, 3, 6)}
    slope = _slope(rise, before)
    kept = e.own(np.broadcast_to(_kept(e), r.base.shape))
    stale = np.abs(e.of(r.value) - e.of(r.value, previous[e.window])) / noise[:, None]
    out |= {
        "prev2": e.of(over, previous[previous[head]]) / s,
        "ratio": rise[:, AT] / before[:, AT],
        "ratio_next": rise[:, AT + 1] / before[:, AT + 1],
        "corr": _corr(rise, before),
        "slope": slope,
        "misfit": np.nanstd(rise - slope[:, None] * before, axis=1) / rise[:, AT],
        "ship_ratio": kept,
        "predicted": kept * before[:, AT] / rise[:, AT],
        "stale": stale[:, AT],
        "stale_share": np.nanmean(stale <= 2, axis=1),
        "prev_same_point": (point[previous[head]] == e.point).astype(float),
    }
    for k in (1, 2, 3):
        ahead = e.of(over, np.minimum(head + k, n))
        out[f"next{k}"], out[f"next{k}_noises"] = ahead / rise[:, AT], ahead / noise
    wait = np.diff(r.hours, prepend=np.nan, append=np.nan)
    usual = np.nanmedian(np.where(wait > 0, wait, np.nan))
    out["wait"] = wait[head] / usual
    out["wait_after"] = np.append(wait, np.nan)[np.minimum(head + 1, n)] / usual
    # Visits of the analyser side by side, whatever points, that show the same excess over their
    # own day: a bump that sits on the analyser.
    fresh = r.value - r.usual
    for name, turn in (("alike_before", -1), ("alike_after", 1)):
        near = np.clip(head[:, None] + turn * np.arange(1, 9), 0, n)
        near = np.where(point[near] == e.point[:, None], n, near)
        alike = np.abs(e.of(fresh, near) / rise[:, [AT]] - 1.0) < 0.12
        out[name] = _run(alike)
    return out


def others(e: Raised) -> Columns:
    """What the other points and the reference point did: shared zero, deck vapour, wet optics."""
    r, noise = e.rounds, e.own(e.rounds.noise)
    e0, rise, day = _rise(e)[:, AT], _rise(e), e.rounds.day
    own = np.arange(len(r.points))[None, :] == e.point[:, None]
    reference = np.array([p == r.logs.site.reference_point for p in r.points])
    start = np.nanmedian(e.in_grid(np.arange(-day // 4, -2)), axis=1)
    out: Columns = {}
    hours = {f"{h:+d}h": h * day // 24 for h in (-24, -6, -2, 2, 6, 24, 48)}
    rounds = {f"{k:+d}": k for k in (-8, -4, -2, -1, 0, 1, 2, 4, 8, 12)}
    for name, k in (rounds | hours).items():
        now = e.in_grid(np.array([k]))[:, 0] - start
        shift = np.where(own, np.nan, now)
        middle = np.nanmedian(shift, axis=1)
        at_reference = np.nanmax(np.where(reference, now, np.nan), axis=1)
        out |= {
            f"median{name}": middle / e0,
            f"median_noises{name}": middle / noise,
            f"q25{name}": np.nanquantile(shift, 0.25, axis=1) / e0,
            f"q75{name}": np.nanquantile(shift, 0.75, axis=1) / e0,
            f"max{name}": np.nanmax(shift, axis=1) / e0,
            f"risen{name}": np.nanmean(shift > 3 * noise[:, None], axis=1),
            f"third{name}": np.nanmean(shift > 0.3 * e0[:, None], axis=1),
            f"ref{name}": at_reference / e0,
            f"ref_noises{name}": at_reference / noise,
        }
    wide = e.in_grid(np.arange(-24, 25) * max(day // 24, 1))
    theirs = np.nanmedian(np.where(own[:, None], np.nan, wide), axis=2)
    mine = np.nanmax(np.where(own[:, None], wide, np.nan), axis=2)
    near = e.in_grid(np.arange(-AT, rise.shape[1] - AT))
    near = np.nanmedian(np.where(own[:, None], np.nan, near), axis=2)
    out |= {
        "level": near[:, AT] / e.setpoint,
        "day_level": np.nanmedian(np.where(own, np.nan, start), axis=1) / e.setpoint,
        "corr": _corr(rise, near),
        "slope": _slope(rise, near),
        "corr_2d": _corr(mine, theirs),
        "slope_2d": _slope(mine, theirs),
        "common_swing": np.nanstd(theirs, axis=1) / e.setpoint,
        "own_swing": np.nanstd(mine - theirs, axis=1) / e.setpoint,
    }
    return out


def other_gas(e: Raised) -> Columns:
    """What the other gases showed at the same visits."""
    r, rise, out = e.rounds, _rise(e), {}
    for g, gas in enumerate(r.gases):
        noise = r.noise[np.maximum(e.point, 0), g]
        x = np.where((e.gas == g)[:, None], np.nan, e.of(r.value[:, g] - r.usual[:, g]))
        out |= {f"{gas}{k:+d}": x[:, AT + k] / noise for k in (-2, -1, 0, 1, 2, 4, 8)}
        out[f"{gas}_corr"] = _corr(rise, x)
        out[f"{gas}_share"] = x[:, AT] / rise[:, AT]
    return out


def line(e: Raised) -> Columns:
    """The line's flow, suction and resistance against its own and the others' usual; the air."""
    r, out = e.rounds, {}
    flow, suction = np.log(np.maximum(r.flow, 0.05)), np.log(np.maximum(r.suction, 0.05))
    for name, x in (("flow", flow), ("suction", suction), ("resistance", suction - flow)):
        own = x - pd.Series(x).groupby(r.point).transform("median").to_numpy()
        order = np.argsort(r.hours, kind="stable")
        common = pd.Series(own[order], index=order)
        common = common.rolling(2 * len(r.points), min_periods=3, center=True).median()
        w, c = e.of(own), e.of(common.sort_index().to_numpy())
        step = np.abs(np.diff(w, axis=1))
        for k in (-8, -4, -2, -1, 0, 1, 2, 4, 8, 12):
            out[f"{name}{k:+d}"] = w[:, AT + k]
            out[f"{name}_alone{k:+d}"] = w[:, AT + k] - c[:, AT + k]
        out |= {
            f"{name}_common": c[:, AT],
            f"{name}_least": np.nanmin(w, axis=1),
            f"{name}_most": np.nanmax(w, axis=1),
            f"{name}_least_after": np.nanmin(w[:, AT:], axis=1),
            f"{name}_biggest_step": np.nanmax(step[:, : AT + 1], axis=1),
            f"{name}_rough": np.nanmedian(step, axis=1),
        }
        out |= {f"{name}{lag:+.0f}h": e.of(own, e.at(lag)) for lag in (*LAGS_H, -168.0, 72.0)}
    for name, x in (("temperature", r.temperature), ("humidity", r.humidity)):
        out[name] = e.of(x)[:, AT]
        out |= {f"{name}{lag:+.0f}h": e.of(x, e.at(lag)) - out[name] for lag in (-24, -6, -2, 2, 6)}
    return out


def alarms(e: Raised) -> Columns:
    """The alarm list around: repeats, other gases, other points, faults, how long."""
    t, gas = e.raised, e.table["gas"].astype(str).to_numpy()
    level = e.table["level"].astype(str).to_numpy()
    gap = t[None, :] - t[:, None]
    here, same_gas = e.point[:, None] == e.point[None, :], gas[:, None] == gas[None, :]
    alike = here & same_gas & (level[:, None] == level[None, :])
    pools = {
        "alike": alike,
        "other_gas": here & ~same_gas & ~e.fault,
        "elsewhere": ~here & same_gas & ~e.fault,
        "elsewhere_other_gas": ~here & ~same_gas & ~e.fault,
        "faults": here & e.fault,
        "faults_elsewhere": ~here & e.fault,
    }
    out = {"minutes": (e.cleared - t) * 60.0, "alike_all": alike.sum(axis=1).astype(float)}
    out["rounds"] = (e.cleared - t) / e.rounds.cycle
    for name, pool in pools.items():
        for h in NEAR_H:
            out[f"{name}_before{h:g}"] = (pool & (gap < -1e-4) & (gap > -h)).sum(axis=1)
            out[f"{name}_after{h:g}"] = (pool & (gap > 1e-4) & (gap < h)).sum(axis=1)
        out[f"{name}_at_once"] = (pool & (np.abs(gap) <= 1e-4)).sum(axis=1)
    out["points_near"] = _points(e, (np.abs(gap) < NEAR_H[0]) & ~e.fault)
    out["fault_points_near"] = _points(e, (np.abs(gap) < 6.0) & e.fault)
    for word in ("flow", "trap", "pump", "detector"):
        out[f"name_{word}"] = np.array([word in name for name in level], float)
    return out


def logbook(e: Raised) -> Columns:
    """Time since and until each entry of the log book at this point, this gas, anywhere [h]."""
    r, op = e.rounds, e.rounds.logs.operations
    t, value = r.since(op["time"]), op["value"].to_numpy(float)
    here = (
        op["point"].astype(object).to_numpy()[None, :] == e.table["point"].to_numpy(object)[:, None]
    )
    its = op["gas"].astype(object).to_numpy()[None, :] == e.table["gas"].to_numpy(object)[:, None]
    gap, action = t[None, :] - e.raised[:, None], op["action"].astype(str).to_numpy()
    out = {"time_of_day": e.raised % 24.0}
    for name in ACTIONS:
        for where, pool in (("here", here), ("gas", its), ("any", True)):
            use = pool & (action == name)[None, :]
            out[f"{name}_{where}_since"] = _least(-gap, use & (gap <= 0))
            out[f"{name}_{where}_until"] = _least(gap, use & (gap > 0))
    sea = np.where((action == "sea_state") & (gap <= 0), np.arange(len(t)), -1)
    out["sea"] = np.append(value, np.nan)[sea.max(axis=1, initial=-1)]
    out["test_at"] = e.of(r.test.astype(float))[:, AT]
    reference = op["reference"].to_numpy(float)[None, :]
    off = np.abs(e.of(r.value)[:, [AT]] / reference - 1.0)
    out["cylinder_off"] = np.where(its & (reference > 0), off, np.nan)
    out["cylinder_off"] = _least(np.nan_to_num(out["cylinder_off"], nan=FAR_H), True)
    return out


def place(e: Raised) -> Columns:
    """The space and the line; what neighbours and the other point of the pair did."""
    r, own = e.rounds, np.maximum(e.point, 0)
    table = r.logs.points.drop_duplicates("point").set_index("point").reindex(r.points)
    out = {name: table[name].to_numpy(float)[own] for name in ("order", "length_m", "volume_m3")}
    kind = table["kind"].astype(object).map({k: i for i, k in enumerate(POINT_KINDS)})
    out["kind"] = kind.to_numpy(float)[own]
    out["reference"] = np.array([p == r.logs.site.reference_point for p in r.points], float)[own]
    names = table["neighbours"].fillna("").astype(str).str.split()
    space = table["space"].astype(object).to_numpy()
    related = {
        "neighbours": np.array([[p in near for p in r.points] for near in names]),
        "pair": (space[:, None] == space[None, :]) & ~np.eye(len(space), dtype=bool),
    }
    before, e0 = np.nanmedian(e.in_grid(np.arange(-12, -3)), axis=1), _rise(e)[:, AT]
    for name, near in related.items():
        for k in (-2, 0, 1, 4, r.day // 12, r.day // 4):
            now = np.where(near[own], e.in_grid(np.array([k]))[:, 0] - before, np.nan)
            hours = f"{k:+d}" if k <= 4 else f"+{round(24 * k / r.day)}h"
            out[f"{name}{hours}"] = np.nanmax(now, axis=1) / e0
    return out


FAMILIES = (size, course, before_in_round, others, other_gas, line, alarms, logbook, place)


def _rise(e: Raised) -> np.ndarray:
    """Return readings over the median of the point's day before, falling gases turned, (E, W)."""
    turn = np.where([gas == "O2" for gas in e.table["gas"]], -1.0, 1.0)
    return turn[:, None] * (e.of(e.rounds.value) - e.of(e.rounds.usual)[:, [AT]])


def _kept(e: Raised) -> np.ndarray:
    """Return what the next point usually shows of a high sample, as a share, shape (G,)."""
    r = e.rounds
    over = np.concatenate([r.value - r.usual, np.full((1, len(r.gases)), np.nan)])
    elsewhere = np.append(r.point, -1)[r.previous] != r.point
    high = elsewhere[:, None] & (over[r.previous] > 30 * r.noise[r.point])
    return np.nanmedian(np.where(high, over[:-1] / over[r.previous], np.nan), axis=0)


def _run(flag: np.ndarray) -> np.ndarray:
    """Return how many leading values of each row are true."""
    return np.cumprod(flag, axis=1).sum(axis=1).astype(float)


def _points(e: Raised, near: np.ndarray) -> np.ndarray:
    """Return the number of different points among the episodes near each, shape (E,)."""
    one = np.eye(len(e.rounds.points) + 1)[e.point]
    return ((near.astype(float) @ one) > 0).sum(axis=1).astype(float)


def _least(x: np.ndarray, use: np.ndarray | bool) -> np.ndarray:
    """Return the least used value of each row, FAR_H at most."""
    return np.where(use, x, FAR_H).min(axis=1, initial=FAR_H)


def _centred(a: np.ndarray, b: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    both = np.isfinite(a) & np.isfinite(b)
    a, b = np.where(both, a, np.nan), np.where(both, b, np.nan)
    return a - np.nanmean(a, axis=1, keepdims=True), b - np.nanmean(b, axis=1, keepdims=True)


def _corr(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    a, b = _centred(a, b)
    return np.nansum(a * b, axis=1) / np.sqrt(np.nansum(a**2, axis=1) * np.nansum(b**2, axis=1))


def _slope(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    a, b = _centred(a, b)
    return np.nansum(a * b, axis=1) / np.nansum(b**2, axis=1)
