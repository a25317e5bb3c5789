"""The night's logs, its incident and its pack, made once; tests that alter a pack take a copy."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from alarmsift.incident.asked import utc_of
from alarmsift.incident.build import build_incident
from alarmsift.incident.pack import pack_incident
from alarmsift.reading.folder import read_logs
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.incident import Asked, Incident
from tests.incident.night import END, START, write_night


@pytest.fixture(scope="session")
def night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs to read only."""
    return write_night(tmp_path_factory.mktemp("night") / "logs")


@pytest.fixture(scope="session")
def told(night: Path) -> Incident:
    clock = ShipClock()
    asked = Asked(utc_of(START, clock, "--from"), utc_of(END, clock, "--to"))
    return build_incident(read_logs(night), asked)


@pytest.fixture(scope="session")
def sealed(night: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack to read only."""
    return pack_incident(night, START, END, tmp_path_factory.mktemp("sealed") / "pack")


@pytest.fixture
def pack(sealed: Path, tmp_path: Path) -> Path:
    """A pack of one's own."""
    return Path(shutil.copytree(sealed, tmp_path / "pack"))
