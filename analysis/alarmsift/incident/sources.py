"""The log files of a pack: exact copies, or copies with columns left out, with their digests."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from alarmsift.errors import InputError
from alarmsift.incident.left_out import Marks, columns_of, copy_without, drafts_of, refuse_unknown
from alarmsift.reading.disk import SITE_FILE, Found, find
from alarmsift.reading.folder import read_logs
from alarmsift.reading.site_file import read_site
from alarmsift.tables.incident import SOURCE_FILE_COLUMNS
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress

# RFC 8493, 2.1.3, has these written as %0D, %0A and %25 in a manifest; the common library writes
# the first two only, and two readers would disagree about the third.
UNSAFE = ("\r", "\n", "%")


@dataclass(frozen=True)
class Copied:
    """What was copied: the logs as read from the copies, and SOURCE_FILE_COLUMNS."""

    logs: Logs
    files: pd.DataFrame


def copy_sources(
    folder: Path, target: Path, leave_out: Sequence[str] = (), *, progress: Progress = SILENT
) -> Copied:
    """Copy the log files into ``target`` and read them there.

    The tables of a pack come from its own copies, so that a rerun has the same to start from.

    Raises
    ------
    InputError
        When the logs can't be read, a name can't stand in a bag, a column is not there, or it
        tells something that the tables need.
    """
    found, _ = find(folder)
    site = read_site(folder)
    drafts = drafts_of(found, site) if leave_out else {}
    refuse_unknown(leave_out, drafts)
    site_file = folder / SITE_FILE
    marks, rows = Marks(), []
    for one in [*found, *([Found(site_file, SITE_FILE)] if site_file.is_file() else [])]:
        _refuse_name(one.file)
        stored = one.path.read_bytes()
        columns = columns_of(drafts[one.file], leave_out) if one.file in drafts else []
        kept = copy_without(one, drafts[one.file], columns, marks) if columns else stored
        place = target / one.file
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(kept)
        heads = [drafts[one.file].sheet.header[n] for n in columns]
        rows.append([one.file, len(kept), _digest(kept), _digest(stored), "; ".join(heads)])
    logs = read_logs(target, progress=progress)
    if leave_out:
        refuse_lost_rows(folder, logs)
    frame = pd.DataFrame(rows, columns=["file", "bytes", "sha256", "original_sha256", "left_out"])
    about = logs.ledger.files[["file", "table", "layout"]]
    files = frame.merge(about, "left", on="file").fillna({"table": "", "layout": ""})
    return Copied(logs, files[SOURCE_FILE_COLUMNS])


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _refuse_name(file: str) -> None:
    if any(mark in file for mark in UNSAFE):
        raise InputError(
            f"the name of '{file!r}' holds a per cent sign or a line break, which a BagIt "
            "manifest can't name for every reader alike.",
            mend="Rename the file; its content stays as it is.",
        )


def refuse_lost_rows(folder: Path, copied: Logs) -> None:
    """Refuse to leave out a column without which rows of the alarm list or log can't be read.

    Raises
    ------
    InputError
    """
    whole = read_logs(folder).ledger.files.set_index("file")
    left = copied.ledger.files.set_index("file")
    for file in whole.index:
        before, after = whole.loc[file], left.loc[file] if file in left.index else None
        if after is None or int(before["accepted"]) != int(after["accepted"]):
            raise InputError(
                "the column to be left out tells more than words: without it rows can't be read.",
                file=str(file),
                mend="Leave out another column.",
            )
