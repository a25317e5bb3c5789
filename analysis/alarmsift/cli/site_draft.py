"""A first ``site.toml`` from what a log folder was understood to be, for the user to correct."""

from __future__ import annotations

from alarmsift.reading.alarm_words import SYSTEM
from alarmsift.reading.names import nearest
from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import GAS_UNITS


def site_draft(logs: Logs) -> str:
    """Return the text of a ``site.toml`` that reads these logs as they were just read.

    A unit stands as a remark only: the files said it themselves, and a later export with another
    unit must not be overruled by a note made today.

    Parameters
    ----------
    logs : Logs

    Returns
    -------
    str
        TOML, ending with a line break.
    """
    site = logs.site
    lines = [
        "# Written by 'alarmsift describe --save' from what the files showed. Please check it all.",
        f"name = {_text(logs.name)}",
        f"clock = {_text(logs.clock.zone)}  # of times that carry no offset of their own",
        f"cycle_limit_min = {site.cycle_limit_min:g}  # longest time a point may go unwatched",
        f"calibration_days = {site.calibration_days:g}",
        *_reference(logs),
        *(f"{name} = {_text(value)}" for name, value in sorted(logs.ledger.settled.items())),
        "",
        *_lfl(logs),
        "# [units] is needed only where the files do not say a unit. They were read as:",
        *(f"# {gas} = {_text(GAS_UNITS.get(gas, ''))}" for gas in _gases(logs)),
        "",
        "# Another name of a point in the alarm list goes here:",
        "[aliases]",
        '# "name in the alarm list" = "name in the readings"',
        *_near_names(logs),
        "",
        *_columns(logs),
    ]
    told = [*logs.ledger.learnt, *logs.ledger.warnings]
    if told:
        lines += ["", "# Understood, assumed, or to be looked at:"]
        lines += [f"# - {_remark(sentence)}" for sentence in told]
    return "\n".join(lines) + "\n"


def _reference(logs: Logs) -> list[str]:
    """Return the reference point if the points table shows exactly one cabinet."""
    points = logs.points
    cabinets = list(points.loc[points["kind"].astype(str) == "cabinet", "point"].astype(str))
    if len(cabinets) == 1:
        return [f"reference_point = {_text(cabinets[0])}  # the only cabinet of the points table"]
    return ['# reference_point = "the point that should always draw clean air"']


def _gases(logs: Logs) -> list[str]:
    return sorted({str(gas) for gas in logs.readings["gas"].dropna().unique()})


def _lfl(logs: Logs) -> list[str]:
    """Return the basis of %LFL, as set, or how it would be set."""
    if "HC" not in _gases(logs):
        return []
    if logs.site.lfl is not None:
        gas, percent = logs.site.lfl
        return ["[lfl]", f"gas = {_text(gas)}", f"vol_percent = {percent:g}", ""]
    return [
        "# [lfl] names the limit that %LFL refers to; needed where a file holds vol% or ppm of HC.",
        '# gas = "..."',
        "# vol_percent = ...  # from the safety data sheet of the cargo or the calibration gas",
        "",
    ]


def _near_names(logs: Logs) -> list[str]:
    """Return remarks with the alarm list's names that the readings lack, and the nearest there."""
    readings = set(logs.readings["point"].dropna().astype(str))
    events = set(logs.events["point"].dropna().astype(str)) - readings - {SYSTEM}
    pairs = [(name, nearest(name, readings)) for name in sorted(events)]
    return [f"# {_text(name)} = {_text(near)}" for name, near in pairs if near]


def _columns(logs: Logs) -> list[str]:
    """Return how columns of other names were read, where all files agree.

    Columns of times stay remarks: a header such as ``Time (UTC+2)`` says more than its column.
    """
    read: dict[str, set[str]] = {}
    for named in logs.ledger.columns.values():
        for written, plain in named.items():
            read.setdefault(written, set()).add(plain)
    lines = []
    for written, plains in sorted(read.items()):
        plain = sorted(plains)[0]
        if len(plains) == 1:
            mark = "# " if plain in ("time", "date", "start", "end", "ack") else ""
            lines.append(f"{mark}{_text(written)} = {_text(plain)}")
    head = "# Columns of the files, and what they were read as:"
    return [head, "[columns]", *lines] if lines else []


def _text(words: str) -> str:
    plain = _remark(words).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{plain}"'


def _remark(words: str) -> str:
    """Return the words on one line, without characters that TOML does not allow."""
    return "".join(c for c in " ".join(words.split()) if c.isprintable())
