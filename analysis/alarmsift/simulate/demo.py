"""Two small ships for the sample logs: ``python -m alarmsift.simulate.demo OUT``.

Together they hold every cause and every condition, in two layouts, three weeks each.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

from alarmsift.errors import AlarmsiftError
from alarmsift.simulate.draw import FAULTS, draw_settings
from alarmsift.simulate.settings import ShipSettings
from alarmsift.simulate.ship import simulate
from alarmsift.simulate.write import write_ship

DAYS = 21.0
_COLUMNS = ("unit", "status", "flow", "suction")
_TABLES = ("points", "setpoints", "findings")
# Three weeks have to show what sixty days would: each fault is asked for that much more often.
_OFTEN = 2.0


def plain_ship(seed: int = 222) -> ShipSettings:
    """Return a ship with every table, well-kept logs and the documented layout."""
    drawn = draw_settings(seed, days=DAYS)
    habits = replace(
        drawn.habits,
        columns=_COLUMNS,
        tables=_TABLES,
        logging="complete",
        names_spaces=False,
        loses_rows=False,
        repeats_raise=False,
        thin_events=False,
        alarm_lag_s=0.0,
        time_step_s=1,
        utc_times=True,
    )
    return replace(drawn, name="MT Amber Heron", habits=habits, expected=_often())


def merged_ship(seed: int = 68) -> ShipSettings:
    """Return a ship whose logs are an export in ship's time with decimal commas."""
    drawn = draw_settings(seed, days=DAYS)
    habits = replace(
        drawn.habits,
        columns=_COLUMNS[1:],
        tables=_TABLES[:2],
        logging="sloppy",
        names_spaces=False,
        time_step_s=1,
        utc_times=False,
    )
    return replace(drawn, name="MT Granite Tern", habits=habits, expected=_often())


def _often() -> dict[str, float]:
    return {name: _OFTEN * mean for name, (mean, _) in FAULTS.items()}


def write_samples(out: Path) -> None:
    """Write both ships under ``out``."""
    write_ship(simulate(plain_ship()), out / "amber_heron", layout="plain", days_per_file=7.0)
    write_ship(simulate(merged_ship()), out / "granite_tern", layout="merged")


def main(arguments: list[str]) -> int:
    """Run the script; return its exit status."""
    if len(arguments) != 1:
        print("usage: python -m alarmsift.simulate.demo OUT", file=sys.stderr)
        return 2
    try:
        write_samples(Path(arguments[0]))
    except AlarmsiftError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
