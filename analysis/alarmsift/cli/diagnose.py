"""``alarmsift diagnose``: the main job."""

from __future__ import annotations

import argparse
from pathlib import Path

from alarmsift.cli.bar import bar
from alarmsift.cli.places import default_out, logs_folder, report_places, shown
from alarmsift.errors import RowsRefused

NAME = "diagnose"
HELP = "say what each alarm most likely was, and write the report"
DESCRIPTION = (
    "Reads a log folder, says for every alarm what it most likely was and which points were not "
    "really watched, writes a report folder and prints a table with a row a point."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    report_places(parser)
    parser.add_argument(
        "--weights",
        metavar="FILE",
        type=Path,
        help="CSV file with weights of evidence of your own: rows of a report's weights.csv with "
        "other numbers; it is named on every page and can't make an alarm a nuisance",
    )
    parser.add_argument(
        "--strict",
        action="store_true",
        help="exit with status 3 when rows were refused; the report is written all the same",
    )


def run(options: argparse.Namespace) -> None:
    """Read, diagnose, write, print.

    Raises
    ------
    RowsRefused
        With ``--strict``, after everything was written.
    """
    from alarmsift.report.place import check_target

    logs_folder(options.logs)
    out = default_out(options.logs) if options.out is None else options.out
    check_target(out, options.logs)

    from alarmsift.pipeline.diagnose import diagnose
    from alarmsift.pipeline.weights import weights_in_force
    from alarmsift.reading.folder import read_logs
    from alarmsift.report.folder import write_report
    from alarmsift.report.terminal import table

    weights_in_force(options.weights)  # refused before the long work
    progress = bar()
    try:
        logs = read_logs(options.logs, progress=progress)
        diagnosis = diagnose(logs, weights=options.weights, progress=progress)
        rows = table(diagnosis)
        write_report(diagnosis, out, progress=progress)
    finally:
        progress.close()
    print(rows)
    print(f"\nReport: {shown(out / 'index.html')}")
    refused = int(logs.ledger.files["rejected"].sum())
    cells = int(logs.ledger.files["cells_refused"].sum())
    if refused or cells:
        print(f"{refused} rows and {cells} single cells were refused: {_ledger(out)}.")
    if options.strict and refused:
        raise RowsRefused(
            f"{refused} rows were refused (--strict). The report was written; the rows and the "
            f"reasons stand in {_ledger(out)}."
        )


def _ledger(out: Path) -> str:
    return shown(out / "rejected_rows.csv")
