"""A plain checklist: what a careful engineer would write in a spreadsheet in an hour.

Rules are asked in order and the first that fits names the cause. Limits are round numbers (common
practice, no source), not tuned on any ship. It reads the canonical tables by way of
``tests.measure.rounds`` and none of the package's measurements.
"""

from __future__ import annotations

import warnings

import numpy as np
import pandas as pd

from alarmsift.tables.schema import REAL, UNDETERMINED
from tests.measure.rounds import BEFORE as AT
from tests.measure.rounds import Raised

STATED = 0.8  # the checklist knows no degrees: one probability for every rule that fits
SETTLES = ("test_gas", "spike", "carry_over", "zero_drift", "tight_setpoint", "moisture")


def checklist(e: Raised) -> pd.DataFrame:
    """Return cause, probability, p_gas, treat_as and runner_up, one row an episode."""
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.simplefilter("ignore", RuntimeWarning)  # rows without a single number
        cause = np.where(e.fault, _first(_fault_rules(e)), _first(_rules(e)))
    treat = np.where(np.isin(cause, SETTLES), "nuisance", "unresolved")
    treat = np.where(np.isin(cause, REAL), "gas", treat)
    return pd.DataFrame(
        {
            "cause": cause,
            "probability": STATED,
            "p_gas": np.where(cause == "gas", STATED, 0.0),
            "treat_as": np.where(e.fault, "unwatched", treat),
            "runner_up": "gas",
        }
    )


def _first(rules: list[tuple[str, np.ndarray]]) -> np.ndarray:
    """Return the cause of the first rule that fits each episode."""
    return np.select([fits for _, fits in rules], [name for name, _ in rules], UNDETERMINED)


def _rules(e: Raised) -> list[tuple[str, np.ndarray]]:
    r, noise = e.rounds, e.own(e.rounds.noise)
    usual = e.of(r.usual)[:, AT]
    rise = e.of(r.value) - usual[:, None]
    e0, peak = rise[:, AT], np.nanmax(rise[:, AT:], axis=1)
    over = rise >= 0.5 * e0[:, None]
    lone = ~over[:, AT - 1] & ~over[:, AT + 1] & np.isfinite(rise[:, AT + 1])
    lasts = over[:, AT : AT + 3].all(axis=1)
    flow, fell_fast = _flow(e)
    wet = (_since(e, "ballast_fill_start") < 24) | _rough_sea(e)
    before = np.append(r.previous, len(r.hours))[e.window]
    previous = e.of(r.value - r.base[r.point], before)
    middle, spread, risen = _elsewhere(e)
    many = risen >= 0.3
    alike = (middle >= 0.5 * e0) & (spread <= 0.3 * e0)
    jumped = (rise[:, AT - 1] < 0.2 * peak) & (e0 > 0.7 * peak)
    falling = np.nanmean(np.diff(rise[:, AT:]) <= noise[:, None], axis=1) > 0.8
    dies = jumped & falling & (rise[:, AT + 6] < 0.6 * peak)
    handled = (_since(e, "reconnect") < 6) | (_since(e, "purge") < 6)
    other = _other_rose(e)
    in_test = (e.of(r.test.astype(float))[:, AT] > 0) | (_span(e) < 0.5) | _at_cylinder(e)
    climbed = usual - e.of(r.usual, e.at(-48.0)) > 2 * noise
    steady = (e.setpoint - usual < 4 * noise) & (e0 < 5 * noise) & ~climbed
    carried = (previous[:, AT] > 3 * e0) & (lone | (previous[:, AT + 1] > 3 * rise[:, AT + 1]))
    return [
        ("test_gas", in_test & lone),
        ("water", (flow < 0.5) & (fell_fast | wet)),
        ("blocked", flow < 0.5),
        ("carry_over", carried & ~many),
        ("zero_drift", alike & (_since(e, "cargo_start") > 24)),
        ("ambient_vapour", many),
        ("tight_setpoint", steady),
        ("spike", lone & ~other),
        ("moisture", dies & handled & ~other),
        ("moisture", dies & ~other & (_since(e, "ventilation_on") > 6)),
        ("gas", lasts | other),
    ]


def _fault_rules(e: Raised) -> list[tuple[str, np.ndarray]]:
    level = e.table["level"].astype(str)
    gap = e.raised[:, None] - e.raised[None, :]
    near = e.fault[None, :] & (np.abs(gap) < 12)
    points = np.array([len(np.unique(e.point[row])) for row in near])
    same = e.fault[None, :] & (e.point[:, None] == e.point[None, :])
    earlier = (same & (gap > 6) & (gap < 120)).sum(axis=1)
    everywhere = points >= max(0.4 * len(e.rounds.points), 3)
    weak = _round_flow(e) < 0.8
    return [
        ("pump", level.str.contains("pump").to_numpy() | everywhere | weak),
        ("water", level.str.contains("trap").to_numpy()),
        ("water", _since(e, "ballast_fill_start") < 24),
        ("blocked", (earlier >= 2) & ~_flow(e)[1]),
        ("water", e.fault),
    ]


def _flow(e: Raised) -> tuple[np.ndarray, np.ndarray]:
    """Return the flow over the line's usual at the raise, and whether it fell at once."""
    share = e.of(_flow_share(e))
    return share[:, AT], share[:, AT - 2] - share[:, AT] > 0.4


def _flow_share(e: Raised) -> np.ndarray:
    """Return flow (else the inverse of suction) over the line's usual, shape (V,)."""
    r = e.rounds
    series = r.flow if np.isfinite(r.flow).any() else 1.0 / np.maximum(r.suction, 0.1)
    return np.asarray(series / pd.Series(series).groupby(r.point).transform("median").to_numpy())


def _round_flow(e: Raised) -> np.ndarray:
    """Return the middle flow of the visits of the last round before each raise, shape (E,)."""
    last = e.window[:, [AT]] - np.arange(len(e.rounds.points))
    return np.nanmedian(e.of(_flow_share(e), np.maximum(last, 0)), axis=1)


def _gaps(e: Raised, *actions: str) -> tuple[np.ndarray, pd.DataFrame]:
    """Return hours since each such entry of the log book, (E, rows), and the entries."""
    op = e.rounds.logs.operations
    rows = op[op["action"].isin(actions).to_numpy()]
    return e.raised[:, None] - e.rounds.since(rows["time"])[None, :], rows


def _since(e: Raised, action: str) -> np.ndarray:
    """Return hours since the last such entry at the point or at no named one."""
    gap, rows = _gaps(e, action)
    ours = rows["point"].astype(object).to_numpy()[None, :] == e.table["point"].to_numpy()[:, None]
    ours = ours | rows["point"].isna().to_numpy()
    return np.where(ours & (gap >= 0), gap, np.inf).min(axis=1, initial=np.inf)


def _rough_sea(e: Raised) -> np.ndarray:
    gap, rows = _gaps(e, "sea_state")
    return ((rows["value"].to_numpy(float) >= 7) & (np.abs(gap) < 24)).any(axis=1)


def _span(e: Raised) -> np.ndarray:
    """Return hours to the nearest span check or adjustment."""
    return np.abs(_gaps(e, "span_check", "span_adjust")[0]).min(axis=1, initial=np.inf)


def _at_cylinder(e: Raised) -> np.ndarray:
    """Tell whether the reading is within a tenth of a value that was applied in a check."""
    op = e.rounds.logs.operations
    its = op["gas"].astype(object).to_numpy()[None, :] == e.table["gas"].to_numpy(object)[:, None]
    off = np.abs(e.of(e.rounds.value)[:, [AT]] / op["reference"].to_numpy(float)[None, :] - 1.0)
    return (its & (off < 0.1)).any(axis=1)


def _elsewhere(e: Raised) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the other points' middle and spread over their base, and the share that rose."""
    own = np.arange(len(e.rounds.points))[None, :] == e.point[:, None]
    now = np.where(own, np.nan, np.nanmedian(e.in_grid(np.array([-2, -1, 0])), axis=1))
    quarter, middle, upper = np.nanquantile(now, [0.25, 0.5, 0.75], axis=1)
    rise = e.of(e.rounds.value)[:, AT] - e.of(e.rounds.usual)[:, AT]
    return middle, upper - quarter, np.nanmean(now > 0.3 * rise[:, None], axis=1)


def _other_rose(e: Raised) -> np.ndarray:
    """Tell whether another gas stood clear of its usual at the raise and one visit later."""
    r, out = e.rounds, np.zeros(len(e.raised), bool)
    for g in [g for g, gas in enumerate(r.gases) if gas != "O2"]:
        above = e.of((r.value - r.usual)[:, g] / r.noise[r.point, g])[:, AT : AT + 2]
        out |= (e.gas != g) & (above > 5).all(axis=1)
    return out
