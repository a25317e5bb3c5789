"""Writes what a pack holds beside the sources: tables, extracted rows, page, settings, versions."""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd

from alarmsift.errors import InputError
from alarmsift.report.csv_files import write_csv
from alarmsift.report.incident_page import write_incident_page
from alarmsift.report.json_file import tool_version
from alarmsift.report.times import iso
from alarmsift.tables.incident import Asked, Incident
from alarmsift.tables.logs import Logs

LAYOUT = "alarmsift-incident-1"
LIBRARIES = (
    "bagit",
    "jinja2",
    "matplotlib",
    "numpy",
    "pandas",
    "pyarrow",
    "ruptures",
    "scipy",
    "tzdata",
)
TABLES = (
    "timeline",
    "responses",
    "points",
    "detectors",
    "verdicts",
    "evidence",
    "conditions",
    "coverage",
    "refused",
)


def write_computed(incident: Incident, folder: Path) -> None:
    """Write ``tables``, ``rows`` and ``report``: all that a rerun must give again."""
    for name in ("tables", "rows", "report"):
        (folder / name).mkdir(parents=True)
    for name in TABLES:
        _write(getattr(incident, name), folder / "tables" / f"{name}.csv")
    _write(incident.limits, folder / "tables" / "setpoints.csv")
    for name, frame in incident.rows.items():
        _write(frame, folder / "rows" / f"{name}.csv")
    write_incident_page(incident, folder / "report")


def _write(frame: pd.DataFrame, path: Path) -> None:
    """Write a table; row numbers and counts are whole."""
    out = frame.copy()
    for name in out.columns:
        if name.endswith("_row"):
            out[name] = pd.to_numeric(out[name], errors="coerce").astype("Int64")
    write_csv(out, path)


def write_about(incident: Incident, logs: Logs, files: pd.DataFrame, folder: Path) -> None:
    """Write ``settings.json``, ``versions.json`` and ``sources.csv``."""
    asked = incident.asked
    site = asdict(logs.site)
    settings = {
        "layout": LAYOUT,
        "name": logs.name,
        "from": _z(asked.start),
        "to": _z(asked.end),
        "points": list(asked.points),
        "as_known_at": None if asked.known_at is None else _z(asked.known_at),
        "left_out": list(asked.left_out),
        "site": {name: site[name] for name in sorted(site) if name != "given"},
    }
    _json(settings, folder / "settings.json")
    versions = {name: metadata.version(name) for name in LIBRARIES}
    python = ".".join(str(part) for part in sys.version_info[:3])
    _json({"alarmsift": tool_version(), "python": python} | versions, folder / "versions.json")
    _write(files, folder / "sources.csv")


def read_settings(folder: Path) -> tuple[str, Asked]:
    """Return the ship's name and what was asked for, from ``settings.json``.

    Raises
    ------
    InputError
        When the file is not there or not as this version writes it.
    """
    try:
        said: dict[str, Any] = json.loads((folder / "settings.json").read_text(encoding="utf-8"))
        if said["layout"] != LAYOUT:
            raise ValueError(f"layout {said['layout']!r}")
        known = said["as_known_at"]
        asked = Asked(
            start=_moment(said["from"]),
            end=_moment(said["to"]),
            points=tuple(str(point) for point in said["points"]),
            known_at=None if known is None else _moment(known),
            left_out=tuple(str(column) for column in said["left_out"]),
        )
        return str(said["name"]), asked
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise InputError(
            "data/settings.json is not as alarmsift writes it, so nothing can be worked out again.",
            mend="Verify without --rerun, or with the version named in data/versions.json.",
        ) from error


def _moment(text: str) -> pd.Timestamp:
    return pd.Timestamp(text).tz_convert("UTC").as_unit("us")


def _z(time: pd.Timestamp) -> str:
    return iso(pd.Series([time]))[0]


def _json(value: dict[str, Any], path: Path) -> None:
    text = json.dumps(value, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    path.write_text(text, encoding="utf-8", newline="\n")
