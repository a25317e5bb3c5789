"""A log folder from texts, read in one call."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from alarmsift.reading.folder import read_logs
from alarmsift.tables.logs import Logs

Read = Callable[..., Logs]


def write(folder: Path, files: dict[str, str | bytes]) -> Path:
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return folder


def adds_up(logs: Logs) -> bool:
    files = logs.ledger.files
    sums = files["accepted"] + files["rejected"] + files["duplicates"]
    return bool((files["rows_read"] == sums).all())


@pytest.fixture
def read(tmp_path: Path) -> Read:
    def run(files: dict[str, str | bytes]) -> Logs:
        folder = tmp_path / "Example"
        folder.mkdir(exist_ok=True)
        logs = read_logs(write(folder, files))
        assert adds_up(logs)
        return logs

    return run


HEADER = "time,point,gas,value,unit,status,flow,suction\n"


def line(minute: int, **cells: str) -> str:
    """Return one plain row; ``cells`` replace what a healthy row says."""
    row = {
        "time": f"2026-01-01T{minute // 60:02d}:{minute % 60:02d}:00Z",
        "point": "BT1P",
        "gas": "HC",
        "value": "1.0",
        "unit": "%LFL",
        "status": "ok",
        "flow": "2.0",
        "suction": "12",
    }
    return ",".join((row | cells).values()) + "\n"
