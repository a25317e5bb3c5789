"""What is measured once for the whole ship, before any single alarm is looked at."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.calibration.named import analyser_of
from alarmsift.evidence.blocks import block_medians
from alarmsift.evidence.carry import Carry, fit_carry, rest_of_before
from alarmsift.evidence.cylinders import cylinder_values
from alarmsift.evidence.line import LineModel, fit_lines
from alarmsift.evidence.zero import ZeroModel, fit_zero, resets_of, zero_at
from alarmsift.tables.logs import Logs
from alarmsift.timeline.kin import kin_of, neighbours_of
from alarmsift.timeline.operations import CALIBRATION_ACTIONS, Operations
from alarmsift.timeline.visits import Visits

# A line under half its clean conductance no longer brings enough of its own air.
POOR_LINE = -0.7


@dataclass(frozen=True, eq=False)
class Ship:
    """Measured once a ship.

    Attributes
    ----------
    reference : int or None
        Index of the point that should always draw clean air.
    zeros : dict of (gas, analyser) -> ZeroModel
    zero, excess, shown : dict of ndarray, shape (n,)
        By gas: shared zero at each visit; reading less zero and own background (blank in tests);
        the same with what was shown in tests kept.
    slow : dict of ndarray, shape (n,)
        By gas: own level followed over days, less the long-run background.
    background, noise : dict of ndarray, shape (P,)
    grid : dict of ndarray, shape (c, P)
        By gas: ``excess`` less carry-over in steps of one round, a column a point.
    grid_hours : ndarray, shape (c,)
    shared_fast : dict of ndarray, shape (c,)
        By gas: the middle of ``grid`` over the points: what all show at once.
    carry : dict of Carry
    line : LineModel
    cylinders : dict of ndarray
        By gas: concentrations applied at checks.
    near : ndarray of bool, shape (P, P)
        The same, and neighbouring spaces.
    kin, followers : ndarray of bool, shape (P, P)
        Points that share a space; points drawn within two turns after a point or
        one of its kin, which may hold a rest of its sample.
    """

    logs: Logs
    visits: Visits
    operations: Operations
    setpoints: pd.DataFrame
    reference: int | None
    zeros: dict[tuple[str, int], ZeroModel]
    zero: dict[str, np.ndarray]
    excess: dict[str, np.ndarray]
    shown: dict[str, np.ndarray]
    slow: dict[str, np.ndarray]
    background: dict[str, np.ndarray]
    noise: dict[str, np.ndarray]
    grid: dict[str, np.ndarray]
    grid_hours: np.ndarray
    shared_fast: dict[str, np.ndarray]
    carry: dict[str, Carry]
    line: LineModel
    cylinders: dict[str, np.ndarray]
    kin: np.ndarray
    near: np.ndarray
    followers: np.ndarray


def measure_ship(
    logs: Logs, visits: Visits, operations: Operations, setpoints: pd.DataFrame
) -> Ship:
    """Return everything that is measured once for the ship."""
    reference = reference_point(logs, visits)
    line = fit_lines(visits)
    zeros: dict[tuple[str, int], ZeroModel] = {}
    zero, excess, shown, slow = {}, {}, {}, {}
    background, noise, grid, fast, carry, cylinders = {}, {}, {}, {}, {}, {}
    n_points = len(visits.points)
    grid_hours, cell = _grid(visits)
    kin = kin_of(visits.points, logs.points)
    elsewhere = _work_elsewhere(logs, visits)
    for gas in visits.gases:
        zero[gas] = np.zeros(len(visits))
        slow[gas] = np.zeros(len(visits))
        background[gas] = np.zeros(n_points)
        noise[gas] = np.full(n_points, np.nan)
        for analyser in range(len(visits.analysers)):
            mine = visits.analyser == analyser
            model = fit_zero(
                visits,
                operations,
                gas,
                analyser=analyser,
                reference=reference,
                elsewhere=elsewhere[analyser],
            )
            zeros[gas, analyser] = model
            zero[gas][mine] = zero_at(model, resets_of(operations, gas), visits.hours[mine])
            here = np.flatnonzero(np.bincount(visits.point[mine], minlength=n_points))
            background[gas][here] = model.background[here]
            noise[gas][here] = model.noise[here]
            slow[gas][mine] = _slow_at(model, visits, mine)
        nominal = 20.9 if gas == "O2" else 0.0
        base = zero[gas] + background[gas][visits.point] + nominal
        excess[gas] = visits.value[gas] - base
        shown[gas] = visits.raw[gas] - base
        noise[gas] = np.where(np.isfinite(noise[gas]), noise[gas], np.nanmax(noise[gas]))
        grid[gas] = _fill(grid_hours, cell, visits, excess[gas])
        usable = ~(line.own < POOR_LINE)
        usable &= ~_crowded(visits, operations, grid[gas], noise[gas])[cell]
        carry[gas] = fit_carry(
            visits,
            excess[gas],
            rest=_rest_before(visits, excess[gas]),
            noise=noise[gas],
            usable=usable,
            kin=kin,
        )
        rest = rest_of_before(visits, shown[gas], carry[gas], excess[gas], np.arange(len(visits)))
        grid[gas] = _fill(grid_hours, cell, visits, excess[gas] - rest)
        fast[gas] = _row_median(grid[gas])
        cylinders[gas] = cylinder_values(
            visits, operations, gas, shown=shown[gas], noise=noise[gas], kin=kin
        )
    return Ship(
        logs=logs,
        visits=visits,
        operations=operations,
        setpoints=setpoints,
        reference=reference,
        zeros=zeros,
        zero=zero,
        excess=excess,
        shown=shown,
        slow=slow,
        background=background,
        noise=noise,
        grid=grid,
        grid_hours=grid_hours,
        shared_fast=fast,
        carry=carry,
        line=line,
        cylinders=cylinders,
        kin=kin,
        near=kin | neighbours_of(visits.points, logs.points),
        followers=_followers(visits, kin),
    )


def _crowded(
    visits: Visits, operations: Operations, grid: np.ndarray, noise: np.ndarray
) -> np.ndarray:
    """Tell for each round whether many points were high at once, or a calibration ran, (c,)."""
    high = grid > 4.0 * noise[None, :]
    seen = np.isfinite(grid).sum(axis=1)
    crowd = high.sum(axis=1) > np.maximum(0.25 * seen, 2)
    tests = operations.of(*CALIBRATION_ACTIONS)["hours"].to_numpy(float)
    reach = int(np.ceil(1.0 / visits.cycle_hours))
    for shift in range(-reach, reach + 1):
        at = np.clip((tests // visits.cycle_hours).astype(int) + shift, 0, len(crowd) - 1)
        crowd[at] = True
    # The rounds beside a crowded one are crowded too.
    return np.asarray(crowd | np.roll(crowd, 1) | np.roll(crowd, -1))


def reference_point(logs: Logs, visits: Visits) -> int | None:
    """Return the point of clean air: site.toml's, else the points table's cabinet."""
    named = logs.site.reference_point
    if named is not None and named in visits.points:
        return visits.points.index(named)
    cabinet = logs.points.loc[logs.points["kind"].astype(object) == "cabinet", "point"]
    inside = [name for name in cabinet if name in visits.points]
    return visits.points.index(inside[0]) if len(inside) == 1 else None


def _work_elsewhere(logs: Logs, visits: Visits) -> list[np.ndarray]:
    """Return for each analyser the positions of the operations whose notes name another one.

    Where the readings name no analysers, nobody knows which of them a note means.
    """
    if len(visits.analysers) < 2:
        return [np.zeros(0, "int64")]
    named = pd.Series(analyser_of(logs.operations["note"])).str.casefold()
    known = ("",) * len(visits.analysers) if visits.told_apart else visits.analysers
    return [np.flatnonzero((named != "") & (named != own.casefold())) for own in known]


def _slow_at(model: ZeroModel, visits: Visits, mine: np.ndarray) -> np.ndarray:
    """Return the slow own level less the background at the visits of one analyser."""
    block = np.clip((visits.hours[mine] // model.blocks.width).astype(int), 0, len(model.slow) - 1)
    level = model.slow[block, visits.point[mine]] - model.background[visits.point[mine]]
    return np.asarray(np.nan_to_num(level))


def _grid(visits: Visits) -> tuple[np.ndarray, np.ndarray]:
    cell = (visits.hours // visits.cycle_hours).astype("int64")
    n_cells = int(cell.max()) + 1 if len(cell) else 1
    return (np.arange(n_cells) + 0.5) * visits.cycle_hours, cell


def _followers(visits: Visits, kin: np.ndarray) -> np.ndarray:
    """Return which points are usually drawn one or two turns after a point or its kin, (P, P)."""
    n = len(visits.points)
    count = np.zeros((n, n))
    has = visits.previous >= 0
    np.add.at(count, (visits.point[visits.previous[has]], visits.point[has]), 1.0)
    usual = count > 0.2 * np.maximum(count.sum(axis=1, keepdims=True), 1.0)
    own = np.eye(n, dtype=bool) | kin
    one = (own.astype(int) @ usual.astype(int)) > 0
    two = (one.astype(int) @ usual.astype(int)) > 0
    return np.asarray((one | two) & ~own)


def _fill(
    grid_hours: np.ndarray, cell: np.ndarray, visits: Visits, series: np.ndarray
) -> np.ndarray:
    """Return a series over visits in steps of one round, a column a point; the last one counts."""
    out = np.full((len(grid_hours), len(visits.points)), np.nan)
    good = np.isfinite(series)
    out[cell[good], visits.point[good]] = series[good]
    return out


def _rest_before(visits: Visits, series: np.ndarray) -> np.ndarray:
    """Return what each visit's point showed over the half day before, shape (n,)."""
    blocks = block_medians(visits, series, np.ones(len(visits), bool))
    span = max(int(round(12.0 / blocks.width)), 2)
    past = pd.DataFrame(blocks.median).rolling(span, min_periods=1).median().shift(1).to_numpy()
    block = np.clip((visits.hours // blocks.width).astype(int), 0, len(past) - 1)
    return np.asarray(np.nan_to_num(past[block, visits.point]))


def _row_median(table: np.ndarray) -> np.ndarray:
    filled = np.isfinite(table).any(axis=1)
    out = np.zeros(len(table))
    if filled.any():
        out[filled] = np.nanmedian(table[filled], axis=1)
    return out
