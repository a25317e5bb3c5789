"""``alarmsift describe``: what each file was understood to be."""

from __future__ import annotations

import argparse
from pathlib import Path

from alarmsift.cli.bar import bar
from alarmsift.cli.places import logs_folder, shown
from alarmsift.errors import OutputError

NAME = "describe"
HELP = "say what each file was understood to be; writes only with --save"
DESCRIPTION = (
    "Says what each file of a log folder was understood to be, how many rows were kept and "
    "refused, the time span and its gaps. Writes nothing unless --save is given."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    parser.add_argument("logs", metavar="LOGS", type=Path, help="folder that holds the logs")
    parser.add_argument(
        "--save",
        action="store_true",
        help="write what was understood to LOGS/site.toml, to be corrected by hand; refused when "
        "there is one already",
    )


def run(options: argparse.Namespace) -> None:
    """Read the folder and print the summary.

    Raises
    ------
    OutputError
        With ``--save``, when there is a ``site.toml`` or it can't be written.
    """
    logs_folder(options.logs)
    site_file = options.logs / "site.toml"
    if options.save and site_file.exists():
        raise OutputError(
            f"'{shown(site_file)}' exists and was left as it is. Change it by hand, or move it "
            "away before --save."
        )

    from alarmsift.cli.site_draft import site_draft
    from alarmsift.reading.describe import describe
    from alarmsift.reading.folder import read_logs

    progress = bar()
    try:
        logs = read_logs(options.logs, progress=progress)
    finally:
        progress.close()
    print(describe(logs), end="")
    if options.save:
        with site_file.open("x", encoding="utf-8", newline="\n") as file:
            file.write(site_draft(logs))
        print(f"\nSaved: {shown(site_file)}. Read it through and correct what is wrong.")
