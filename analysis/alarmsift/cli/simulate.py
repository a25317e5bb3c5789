"""``alarmsift simulate``: a log folder with known truth, for demonstrations and tests."""

from __future__ import annotations

import argparse
import math
import shutil
import tempfile
from pathlib import Path

from alarmsift.cli.bar import bar
from alarmsift.cli.places import shown
from alarmsift.errors import OutputError

NAME = "simulate"
HELP = "write the logs of an invented ship, with the truth beside them"
DESCRIPTION = (
    "Writes the logs of an invented ship with faults in it, and the truth about them in OUT/truth, "
    "which 'diagnose' never reads. The same seed gives the same ship."
)
LAYOUTS = ("plain", "merged", "wide")
LONGEST_DAYS = 1000.0  # about 6 million readings [d]; more would ask for tens of gigabytes


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    parser.add_argument("out", metavar="OUT", type=Path, help="new or empty folder to write")
    parser.add_argument("--seed", metavar="N", type=_seed, default=1, help="which ship (default 1)")
    parser.add_argument(
        "--days", metavar="D", type=_days, default=60.0, help="length of the log (default 60)"
    )
    parser.add_argument(
        "--layout", choices=LAYOUTS, default="plain", help="shape of the files (default plain)"
    )


def run(options: argparse.Namespace) -> None:
    """Simulate and write, whole or not at all.

    Raises
    ------
    OutputError
        When OUT holds something or can't be written.
    """
    out: Path = options.out
    _refuse_filled(out)

    from alarmsift.report.place import rename
    from alarmsift.simulate.ship import draw_settings, simulate
    from alarmsift.simulate.write import write_ship

    progress = bar()
    try:
        progress.stage("Sailing the ship")
        ship = simulate(draw_settings(options.seed, days=options.days))
        progress.stage("Writing the logs")
        part = _beside(out)
        try:
            write_ship(ship, part, layout=options.layout)
            _refuse_filled(out)
            if out.is_dir():
                out.rmdir()
            rename(part, out)
        finally:
            shutil.rmtree(part, ignore_errors=True)
    finally:
        progress.close()
    points, readings = len(ship.settings.points), len(ship.tables["readings"])
    print(
        f"Logs: {shown(out)} ({options.days:g} days, {points} points, {readings} readings, "
        f"layout {options.layout}, seed {options.seed})"
    )
    print(f"Truth: {shown(out / 'truth')}")


def _beside(out: Path) -> Path:
    """Return a fresh folder next to OUT, hidden so that a reader of logs skips what is left."""
    place = out.resolve().parent
    place.mkdir(parents=True, exist_ok=True)
    inside = Path(tempfile.mkdtemp(prefix=f".{out.resolve().name}-", dir=place))
    inside.chmod(0o755)  # mkdtemp keeps others out; the logs are for everybody on board
    return inside


def _refuse_filled(out: Path) -> None:
    if out.is_dir():
        if any(out.iterdir()):
            raise OutputError(f"'{shown(out)}' is not empty. Name a new or empty folder.")
    elif out.exists() or out.is_symlink():
        raise OutputError(f"'{shown(out)}' is a file. Name a new or empty folder.")


def _seed(text: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"expected a whole number from 0 up, found '{text}'")
    return int(text)


def _days(text: str) -> float:
    try:
        days = float(text)
    except ValueError:
        days = math.nan
    if not 1.0 <= days <= LONGEST_DAYS:
        raise argparse.ArgumentTypeError(
            f"expected a number of days from 1 to {LONGEST_DAYS:g}, found '{text}'"
        )
    return days
