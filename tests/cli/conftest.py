"""The command line in this process, and a fresh current folder."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from hand_made_ship import SITE, write_logs

from alarmsift.cli.main import run


@dataclass(frozen=True)
class Ran:
    """What one run gave back."""

    status: int
    out: str
    err: str


@pytest.fixture
def alarmsift(capsys: pytest.CaptureFixture[str]) -> Callable[..., Ran]:
    """Run the command line in this process."""

    def go(*words: object) -> Ran:
        capsys.readouterr()
        status = run([str(word) for word in words])
        told = capsys.readouterr()
        assert "Traceback" not in told.out + told.err
        return Ran(status, told.out, told.err)

    return go


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Path]:
    """A fresh current folder."""
    before = Path.cwd()
    os.chdir(tmp_path)
    yield tmp_path
    os.chdir(before)


@pytest.fixture(scope="session")
def ship(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Logs to read only; a test that writes makes its own."""
    folder = write_logs(tmp_path_factory.mktemp("ship") / "plain_example")
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    return folder
