"""The evidence pack: sources, tables, page and settings of one window, sealed as a bag."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeAlias

import pandas as pd

from alarmsift.errors import InputError
from alarmsift.incident.asked import utc_of
from alarmsift.incident.bag import SIGNED_WITH, seal
from alarmsift.incident.build import build_incident
from alarmsift.incident.payload import write_about, write_computed
from alarmsift.incident.readme import receiver_text
from alarmsift.incident.signature import public_text, read_key, sign
from alarmsift.incident.sources import copy_sources
from alarmsift.report.place import check_target, whole_folder
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.incident import Asked
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress

Time: TypeAlias = str | pd.Timestamp


@dataclass(frozen=True)
class PackOptions:
    """What a pack may be asked for beside its window.

    Attributes
    ----------
    known_at : str, Timestamp or None
        Rows after it are taken as not there.
    leave_out : tuple of str
        Columns of the source files that are left out of the copies.
    sign_with : Path or None
        PEM file with an Ed25519 private key.
    """

    known_at: Time | None = None
    leave_out: tuple[str, ...] = ()
    sign_with: Path | None = None


def pack_incident(  # noqa: PLR0913  (the first five are what other programs call)
    logs: Logs | Path | str,
    start: Time,
    end: Time,
    folder: Path | str,
    points: Sequence[str] | None = None,
    *,
    options: PackOptions | None = None,
    progress: Progress = SILENT,
) -> Path:
    """Write the evidence pack of a time window.

    Parameters
    ----------
    logs : Logs, Path or str
        The log folder, or what ``read_logs`` gave of it. The files are read again from the copies
        in the pack, so that every figure comes from what the pack holds.
    start, end : str or Timestamp
        The window, both ends in it. Text without an offset is ship's time.
    folder : Path or str
        Where the pack is to stand. Only a folder that alarmsift wrote is replaced.
    points : sequence of str, optional
        Points to tell of; all when None.
    options : PackOptions, optional
    progress : Progress

    Returns
    -------
    Path
        ``folder``.

    Raises
    ------
    InputError
        When logs, window, points, columns or key can't be used.
    OutputError
        When the pack can't be written there; what stood there is then untouched.
    """
    source, folder, more = _folder_of(logs), Path(folder), options or PackOptions()
    check_target(folder, source)
    key = None if more.sign_with is None else read_key(more.sign_with)
    with whole_folder(folder, "pack") as part:
        payload = part / "payload"
        payload.mkdir()
        copied = copy_sources(source, payload / "sources", more.leave_out, progress=progress)
        logs = copied.logs
        if not logs.site.name:
            logs = _named(logs, source)
        clock = logs.clock
        asked = Asked(
            start=_utc(start, clock, "--from"),
            end=_utc(end, clock, "--to"),
            points=tuple(points or ()),
            known_at=None if more.known_at is None else _utc(more.known_at, clock, "--as-known-at"),
            left_out=tuple(sorted(set(more.leave_out))),
        )
        incident = build_incident(logs, asked, progress=progress)
        progress.stage("Writing the pack")
        write_computed(incident, payload)
        write_about(incident, logs, copied.files, payload)
        (part / "README.txt").write_text(
            receiver_text(incident, signed=key is not None), encoding="utf-8", newline="\n"
        )
        info = {"External-Description": f"Gas sampling evidence pack of {incident.name}"}
        if key is not None:
            info[SIGNED_WITH] = public_text(key)
        seal(payload, part, info)
        if key is not None:
            sign(part, key)
        progress.close()
    return folder


def _folder_of(logs: Logs | Path | str) -> Path:
    if isinstance(logs, Logs):
        if logs.folder is None:
            raise InputError(
                "these logs were not read from a folder, and a pack needs the files.",
                mend="Give the folder itself.",
            )
        return logs.folder
    return Path(logs)


def _named(logs: Logs, source: Path) -> Logs:
    return replace(logs, name=source.resolve().name)


def _utc(time: Time, clock: ShipClock, option: str) -> pd.Timestamp:
    if isinstance(time, str):
        return utc_of(time, clock, option)
    if time.tz is None:
        return utc_of(time.isoformat(), clock, option)
    return time.tz_convert("UTC").as_unit("us")
