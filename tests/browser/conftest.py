"""A headless browser for the pages, or a skip that says what is missing."""

from __future__ import annotations

import dataclasses
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pandas as pd
import pytest
from watched_page import FLAGS, WatchedPage

from alarmsift.cli.main import run
from alarmsift.report.folder import write_report
from alarmsift.report.page_names import page_names
from alarmsift.report.render import environment, watch_html
from alarmsift.report.urgent import urgent_items
from alarmsift.report.watch_page import watch_page

sys.path.append(str(Path(__file__).parent.parent / "report"))
from report_fixture import make_diagnosis  # noqa: E402  (the made-up ship of the report's tests)

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


@pytest.fixture(scope="session")
def made_up_report(tmp_path_factory) -> Path:
    """A made-up report with alarms of every cause and every way to be treated."""
    return write_report(make_diagnosis(), tmp_path_factory.mktemp("made_up") / "report")


@pytest.fixture(scope="session")
def long_sheet(tmp_path_factory) -> Path:
    """A half sheet for the watch of forty points of long names, all in gas and none watched."""
    points = [f"No.{k} W.B.T. ({'PS'[k % 2]}) FWD UPPER {k:02d}" for k in range(40)]
    full = make_diagnosis(days=4, minutes=240, points=points)
    grave = full.episodes[full.episodes["treat_as"] == "gas"].iloc[[0] * 40]
    grave = grave.assign(point=points, episode=[f"E9{k:03d}" for k in range(40)])
    blind = full.conditions.iloc[[0] * 40].assign(point=points, condition="water")
    diagnosis = dataclasses.replace(
        full,
        episodes=pd.concat([full.episodes, grave], ignore_index=True),
        conditions=pd.concat([full.conditions, blind], ignore_index=True),
    )
    sheet = watch_page(diagnosis, urgent_items(diagnosis, page_names(diagnosis.points)))
    place = tmp_path_factory.mktemp("long") / "watch.html"
    place.write_text(watch_html(environment(), sheet), encoding="utf-8")
    return place


@pytest.fixture(scope="session")
def incident_page(ship_logs, ship_report) -> Path:
    """The page of an evidence pack around the gravest alarm."""
    episodes = pd.read_csv(ship_report / "episodes.csv", parse_dates=["raised"])
    night = episodes["raised"].iloc[len(episodes) // 2]
    ends = [f"{night + pd.Timedelta(hours=h):%Y-%m-%dT%H:%M:%SZ}" for h in (-3, 5)]
    out = ship_logs.parent / "pack"
    words = ["incident", str(ship_logs), "--from", ends[0], "--to", ends[1], "--out", str(out)]
    assert run(words) == 0
    return out / "data" / "report" / "index.html"


@pytest.fixture(scope="session")
def setpoint_page(ship_logs) -> Path:
    """The page of a setpoint study."""
    out = ship_logs.parent / "study"
    assert run(["setpoints", str(ship_logs), "--out", str(out)]) == 0
    return out / "setpoints.html"
