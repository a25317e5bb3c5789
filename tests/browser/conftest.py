"""A headless browser for the pages, or a skip that says what is missing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from watched_page import FLAGS, WatchedPage

from alarmsift.cli.main import run

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "msedge")
SHIP_SEED, SHIP_DAYS = 5, 12


@pytest.fixture(scope="session")
def browser():
    """The machine's own browser of the Chromium family; ALARMSIFT_BROWSER names another."""
    named = os.environ.get("ALARMSIFT_BROWSER")
    program = named or next(filter(None, map(shutil.which, BROWSERS)), None)
    if program is None:
        pytest.skip("no Chromium, Chrome or Edge on this machine (ALARMSIFT_BROWSER=path names it)")
    sync_api = pytest.importorskip(
        "playwright.sync_api", reason="playwright is not installed (pip install '.[dev]')"
    )
    with sync_api.sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser) -> Iterator[Callable[..., WatchedPage]]:
    """Opens pages from the disk; at the end none may have complained or asked the network."""
    opened: list[WatchedPage] = []

    def go(path: Path, *, width: int = 1280, scripts: bool = True) -> WatchedPage:
        opened.append(WatchedPage(browser, path, width=width, scripts=scripts))
        return opened[-1]

    yield go
    heard = [words for one in opened for words in one.close()]
    assert heard == []


@pytest.fixture(scope="session")
def ship_logs(tmp_path_factory) -> Path:
    """Logs of a small invented ship."""
    logs = tmp_path_factory.mktemp("browser") / "small_ship"
    words = ["simulate", str(logs), "--seed", str(SHIP_SEED), "--days", str(SHIP_DAYS)]
    assert run(words) == 0
    return logs


@pytest.fixture(scope="session")
def ship_report(ship_logs) -> Path:
    """Its report folder."""
    out = ship_logs.parent / "report"
    assert run(["diagnose", str(ship_logs), "--out", str(out)]) == 0
    return out
