"""Works a pack's tables out again from its own sources, and says whether they come out the same."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from alarmsift.errors import InputError
from alarmsift.incident.build import build_incident
from alarmsift.incident.payload import read_settings, write_computed
from alarmsift.reading.folder import read_logs
from alarmsift.tables.progress import SILENT, Progress


@dataclass(frozen=True)
class Rerun:
    """Files of the pack that came out the same, and those that did not, with where they differ."""

    same: tuple[str, ...]
    different: tuple[str, ...]


def rerun_pack(folder: Path | str, *, progress: Progress = SILENT) -> Rerun:
    """Return how tables, rows and page come out when they are worked out again.

    Raises
    ------
    InputError
        When the pack's sources or settings can't be used.
    """
    data = Path(folder) / "data"
    name, asked = read_settings(data)
    if not (data / "sources").is_dir():
        raise InputError("the pack holds no data/sources.", mend="Ask the sender for a whole one.")
    logs = replace(read_logs(data / "sources", progress=progress), name=name)
    incident = build_incident(logs, asked, progress=progress)
    same: list[str] = []
    different: list[str] = []
    with tempfile.TemporaryDirectory() as place:
        again = Path(place)
        write_computed(incident, again)
        for path in sorted(again.rglob("*")):
            if path.is_file():
                file = path.relative_to(again).as_posix()
                where = _difference(path, data / file)
                (different if where else same).append(f"data/{file}{where}")
    progress.close()
    return Rerun(tuple(same), tuple(different))


def _difference(again: Path, packed: Path) -> str:
    """Return where a file differs, as words to put behind its name; blank = nowhere."""
    if not packed.is_file():
        return " (not in the pack)"
    new, old = again.read_bytes().split(b"\n"), packed.read_bytes().split(b"\n")
    if new == old:
        return ""
    pairs = zip(new, old, strict=False)
    line = next((n for n, (a, b) in enumerate(pairs, 1) if a != b), min(len(new), len(old)) + 1)
    return f" (from line {line} on)"
