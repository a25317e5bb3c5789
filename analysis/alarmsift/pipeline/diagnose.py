"""One log folder, from bottom to top: the one place where the order of work is written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from alarmsift.calibration.detectors import detector_table
from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.diagnosis.checks import CHECKS
from alarmsift.diagnosis.treat import no_looser
from alarmsift.evidence.possible_gas import possible_gas_table
from alarmsift.evidence.rule import Kept
from alarmsift.evidence.ship import Ship, measure_ship
from alarmsift.pipeline.calibration import daily_zeros, ends_of
from alarmsift.pipeline.conditions import find_conditions
from alarmsift.pipeline.coverage import coverage_table
from alarmsift.pipeline.findings import Found, apply_findings
from alarmsift.pipeline.learnt import learnt
from alarmsift.pipeline.points import points_table
from alarmsift.pipeline.rules import rules_table
from alarmsift.pipeline.series import changes_table, visits_table, zeros_table
from alarmsift.pipeline.verdicts import Verdicts, judge
from alarmsift.pipeline.weights import weights_in_force
from alarmsift.repairs.table import repair_table
from alarmsift.tables.diagnosis import CALIBRATION_COLUMNS, EPISODE_COLUMNS, Diagnosis
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress
from alarmsift.tables.schema import GAS_UNITS
from alarmsift.timeline.alarm_load import alarm_load
from alarmsift.timeline.alarm_readings import with_alarm_values
from alarmsift.timeline.bouts import bouts, counts_around, points_with_faults
from alarmsift.timeline.endings import ended_by
from alarmsift.timeline.episodes import build_episodes
from alarmsift.timeline.findings import counts_of_findings
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.setpoints import setpoints_in_force
from alarmsift.timeline.visits import Visits, build_visits


def diagnose(
    logs: Logs,
    *,
    weights: pd.DataFrame | Path | str | None = None,
    further: bool = True,
    progress: Progress = SILENT,
) -> Diagnosis:
    """Return the diagnosis of one ship's logs.

    Parameters
    ----------
    logs : Logs
        What ``read_logs`` gives.
    weights : DataFrame, Path, str or None
        Weights of evidence of your own [decibans]: a table, or the CSV file that holds it, with
        the columns ``sign``, ``cause``, ``present`` and ``absent``; only the rows given are
        changed. They are named on every page and can't make a nuisance of an alarm that is none
        under the built-in weights.
    further : bool
        Also reckon what no verdict rests on: changes over time, the detectors' forecast, repairs,
        possible gas, rules and alarm load. Without it these tables have no rows.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Diagnosis

    Raises
    ------
    InputError
        When the weights can't be used.
    """
    in_force = weights_in_force(weights)
    ship, table, counts = measured(logs, progress=progress)
    visits, operations, setpoints = ship.visits, ship.operations, ship.setpoints
    own = None if in_force.change is None else in_force.table
    verdicts = judge(ship, table, weights=own, progress=progress)
    progress.stage("Looking for silent failures")
    conditions = find_conditions(ship, table)
    coverage = coverage_table(ship, conditions)
    endings = ended_by(table, visits, operations, setpoints, ship.line.flow_share)
    found = _found(logs, table, verdicts, endings, visits)
    if verdicts.built_in is not None:
        found = _no_looser(found, _found(logs, table, verdicts.built_in, endings, visits))
    episodes = found.episodes
    zeros = daily_zeros(ship)
    ledger = calibration_ledger(logs, zeros)
    calibration = ledger[CALIBRATION_COLUMNS]
    keys = {key: row for row, key in enumerate(episodes["episode"])}
    diagnosis = Diagnosis(
        logs=logs,
        episodes=episodes,
        conditions=conditions,
        coverage=coverage,
        calibration=calibration,
        ledger=ledger,
        probabilities=verdicts.probability.set_axis(episodes["episode"], axis=0),
        setpoints=setpoints,
        visits=visits_table(ship),
        zeros=zeros_table(ship),
        points=points_table(ship, episodes, conditions),
        checks=_checks(),
        weights=verdicts.weights,
        weights_change=in_force.change,
        learnt=learnt(ship, counts),
        cycle_minutes=visits.cycle_hours * 60.0,
        sign_reader=lambda key: verdicts.signs_of(keys[key]),
        findings=found.findings,
        record=found.record,
    )
    if not further:
        return diagnosis
    progress.stage("Reckoning growth, rules and alarm load")
    load, tags = alarm_load(episodes, visits)
    return replace(
        diagnosis,
        changes=changes_table(ship),
        detectors=detector_table(logs, ledger, zeros, ends=ends_of(logs)),
        repairs=repair_table(
            logs, visits, operations, episodes=episodes, health=ship.line.own, ledger=ledger
        ),
        possible_gas=possible_gas_table(ship, episodes, conditions),
        rules=rules_table(Kept(ship, table, episodes, conditions, coverage, calibration)),
        alarm_load=load,
        alarm_tags=tags,
    )


def measured(
    logs: Logs, *, progress: Progress = SILENT
) -> tuple[Ship, pd.DataFrame, dict[str, int]]:
    """Return what is measured of the ship, its episodes, and what was odd in the alarm list."""
    progress.stage("Laying out visits and alarms")
    visits = build_visits(logs)
    whole = with_alarm_values(logs, visits)
    if whole is not logs:
        logs, visits = whole, build_visits(whole)
    setpoints = setpoints_in_force(logs, visits)
    operations = read_operations(logs, visits)
    raw = build_episodes(logs, visits, setpoints)
    progress.stage("Telling detector, lines and points apart")
    ship = measure_ship(logs, visits, operations, setpoints)
    raised = visits.since(raw.table["raised"])
    cleared = visits.since(raw.table["cleared"])
    table = raw.table.assign(
        in_a_day=counts_around(raw.table, raised, hours=24.0),
        fault_points=points_with_faults(raw.table, raised, hours=6.0),
        **counts_of_findings(logs.findings, raw.table, raised, cleared),
    )
    return ship, table, raw.counts


def _found(
    logs: Logs, table: pd.DataFrame, verdicts: Verdicts, endings: np.ndarray, visits: Visits
) -> Found:
    """Return the episodes with findings applied."""
    return apply_findings(
        _episodes(table, verdicts, endings, visits),
        logs.findings,
        probability=verdicts.probability,
        real=verdicts.table["real"].to_numpy(float),
        gas_before=table["gas_found"].to_numpy(float),
    )


def _no_looser(found: Found, built_in: Found) -> Found:
    """Hold what findings left of a verdict to the built-in weights as well.

    A finding reaches a bout, and other weights may cut bouts otherwise.
    """
    ours, strict = (one.episodes["treat_as"].to_numpy(object) for one in (found, built_in))
    return replace(found, episodes=found.episodes.assign(treat_as=no_looser(ours, strict)))


def _episodes(
    table: pd.DataFrame, verdicts: Verdicts, endings: np.ndarray, visits: Visits
) -> pd.DataFrame:
    raised, cleared = visits.since(table["raised"]), visits.since(table["cleared"])
    last = max(float(visits.hours[-1]) if len(visits) else 0.0, float(np.nanmax(raised, initial=0)))
    cause = verdicts.table["cause"].to_numpy(object)
    frame = table[["point", "gas", "level", "kind", "raised", "cleared", "acknowledged"]].copy()
    frame["episode"] = [f"E{number:04d}" for number in range(1, len(table) + 1)]
    frame["ended_by"] = endings
    frame["minutes"] = (np.where(np.isfinite(cleared), cleared, last) - raised) * 60.0
    frame["unit"] = [GAS_UNITS.get(str(gas), "") for gas in table["gas"]]
    frame["bout"] = bouts(table, cause, raised, np.nan_to_num(cleared, nan=np.inf))
    for name in ("peak", "cause", "probability", "p_gas", "runner_up", "treat_as", "why"):
        frame[name] = verdicts.table[name].to_numpy()
    frame["next_check"] = verdicts.table["next_check"].to_numpy(object)
    return frame[EPISODE_COLUMNS]


def _checks() -> pd.DataFrame:
    return pd.DataFrame(
        [
            {"key": check.key, "check": check.words, "outcome": outcome, "means": meaning}
            for check in CHECKS
            for outcome, meaning in zip(check.outcomes, check.means, strict=True)
        ],
        columns=["key", "check", "outcome", "means"],
    )
