"""From logs to what is measured on a ship, and to the windows around its alarms."""

from __future__ import annotations

import pandas as pd

from alarmsift.evidence.ship import Ship, measure_ship
from alarmsift.evidence.windows import Windows, build_windows
from alarmsift.tables.logs import Logs
from alarmsift.timeline.bouts import counts_around, points_with_faults
from alarmsift.timeline.episodes import build_episodes
from alarmsift.timeline.findings import counts_of_findings
from alarmsift.timeline.operations import read_operations
from alarmsift.timeline.setpoints import setpoints_in_force
from alarmsift.timeline.visits import build_visits


def measured(logs: Logs) -> tuple[Ship, pd.DataFrame]:
    """Return a ship measured, and its episodes as the signs want them."""
    visits = build_visits(logs)
    setpoints = setpoints_in_force(logs, visits)
    operations = read_operations(logs, visits)
    table = build_episodes(logs, visits, setpoints).table
    raised = visits.since(table["raised"])
    table = table.assign(
        in_a_day=counts_around(table, raised, hours=24.0),
        fault_points=points_with_faults(table, raised, hours=6.0),
        **counts_of_findings(logs.findings, table, raised, visits.since(table["cleared"])),
    )
    return measure_ship(logs, visits, operations, setpoints), table


def windows(logs: Logs) -> Windows:
    """Return the windows around all alarms of the logs."""
    ship, table = measured(logs)
    return build_windows(ship, table)
