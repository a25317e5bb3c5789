"""``alarmsift incident``: the evidence pack of a time window."""

from __future__ import annotations

import argparse
from pathlib import Path

from alarmsift.cli.bar import bar
from alarmsift.cli.places import default_out, logs_folder, shown

NAME = "incident"
HELP = "seal the evidence of a time window in a pack that can be verified"
DESCRIPTION = (
    "Tells a time window in order: readings that crossed setpoints, alarms, answers, operations, "
    "calibrations and gaps in the watch, each with its source row. Writes a pack (a BagIt bag) "
    "with copies of the log files, tables, a page to print, and manifests. Times without an offset "
    "are ship's time."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    parser.add_argument("logs", metavar="LOGS", type=Path, help="folder that holds the logs")
    parser.add_argument("--from", dest="start", metavar="T", required=True, help="start of it")
    parser.add_argument("--to", dest="end", metavar="T", required=True, help="end of it")
    parser.add_argument(
        "--point",
        metavar="P",
        action="append",
        default=[],
        help="tell only of this point; may be given more than once (default: all)",
    )
    parser.add_argument(
        "--as-known-at",
        metavar="T",
        help="take every later row as not there, so that hindsight is not mistaken for knowledge",
    )
    parser.add_argument(
        "--leave-out",
        metavar="COLUMN",
        action="append",
        default=[],
        help="replace the cells of this column by a mark in the copies: text, note, findings.note, "
        "or a column of the files that is not read otherwise; may be given more than once",
    )
    parser.add_argument(
        "--sign",
        metavar="KEY",
        type=Path,
        help="sign the pack with the Ed25519 private key in this PEM file (needs alarmsift[sign])",
    )
    parser.add_argument(
        "--out",
        metavar="DIR",
        type=Path,
        help="where to write the pack (default: reports/<name of LOGS>-incident); only a folder "
        "that alarmsift wrote is replaced",
    )


def run(options: argparse.Namespace) -> None:
    """Read, tell, seal, and say where it stands."""
    from alarmsift.incident.pack import PackOptions, pack_incident

    logs_folder(options.logs)
    out = options.out
    if out is None:
        whole = default_out(options.logs)
        out = whole.with_name(f"{whole.name}-incident")
    progress = bar()
    try:
        pack_incident(
            options.logs,
            options.start,
            options.end,
            out,
            options.point or None,
            options=PackOptions(
                known_at=options.as_known_at,
                leave_out=tuple(options.leave_out),
                sign_with=options.sign,
            ),
            progress=progress,
        )
    finally:
        progress.close()
    print(f"Pack: {shown(out)}")
    print(f"Page: {shown(out / 'data' / 'report' / 'index.html')}")
    print(f"Check it with: alarmsift verify {shown(out)} --rerun")
