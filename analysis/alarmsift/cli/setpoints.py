"""``alarmsift setpoints``: what other settings would have done, and what may be proposed."""

from __future__ import annotations

import argparse
import math

from alarmsift.cli.bar import bar
from alarmsift.cli.places import default_out, logs_folder, report_places, shown

NAME = "setpoints"
HELP = "replay the history under other setpoints, and propose where the rules allow it"
DESCRIPTION = (
    "Replays the logs under some thousands of settings, sets apart what maintenance cures, and "
    "says for every point what the mildest admissible change would be, or why there is none. "
    "Writes setpoints.html, .csv and .json into the report folder. A proposal, never a permission."
)


def arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command understands."""
    report_places(parser)
    parser.add_argument(
        "--try",
        dest="tries",
        metavar="SETTING",
        action="append",
        default=[],
        help="a setting to print beside today's, as HC:low=12,deadband=1,confirm=2; repeatable",
    )
    parser.add_argument(
        "--goal",
        metavar="N",
        type=_over_zero,
        default=2.0,
        help="nuisance alarms a point and 30 days to get under (default 2)",
    )
    parser.add_argument(
        "--leak",
        metavar="L/MIN",
        type=_over_zero,
        default=10.0,
        help="leak to ask about, L/min of vapour (default 10)",
    )
    parser.add_argument(
        "--air-changes",
        metavar="N",
        type=_not_negative,
        help="ventilation of every space, air changes an hour (default: 20 in pump rooms, else 0)",
    )


def run(options: argparse.Namespace) -> None:
    """Read, diagnose, study, write, print."""
    from alarmsift.report.place import check_target

    logs_folder(options.logs)
    out = default_out(options.logs) if options.out is None else options.out
    check_target(out, options.logs)

    from alarmsift.setpoints.candidate import parse_try

    for words in options.tries:
        parse_try(words)  # refused before the long work

    from alarmsift.pipeline.diagnose import diagnose
    from alarmsift.reading.folder import read_logs
    from alarmsift.report.folder import write_report
    from alarmsift.report.setpoint_words import study_words
    from alarmsift.setpoints.study import study_setpoints

    progress = bar()
    try:
        logs = read_logs(options.logs, progress=progress)
        diagnosis = diagnose(logs, progress=progress)
        study = study_setpoints(
            logs,
            diagnosis,
            goal=options.goal,
            leak=options.leak,
            air_changes=options.air_changes,
            tries=options.tries,
            progress=progress,
        )
        write_report(diagnosis, out, study=study, progress=progress)
    finally:
        progress.close()
    print(study_words(study))
    print(f"\nReport: {shown(out / 'setpoints.html')}")


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _over_zero(text: str) -> float:
    if not 0.0 < _number(text) < math.inf:
        raise argparse.ArgumentTypeError(f"expected a number over 0, found '{text}'")
    return _number(text)


def _not_negative(text: str) -> float:
    if not 0.0 <= _number(text) < math.inf:
        raise argparse.ArgumentTypeError(f"expected a number from 0 up, found '{text}'")
    return _number(text)
