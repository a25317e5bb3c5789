"""What must hold for every page, looked at with the standard library's parsers."""

import dataclasses
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import numpy as np
import pandas as pd
import pytest
from report_fixture import NASTY, make_diagnosis

from alarmsift.report.folder import write_report

# Elements without an end tag, HTML Living Standard, section 13.1.2 "void elements" (from memory).
VOID = {"meta", "br", "link", "img", "hr", "input"}


class Page(HTMLParser):
    """Checks that tags close in order, and keeps what the tests ask for."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.attrs: list[tuple[str, dict[str, str | None]]] = []
        self.headings: list[int] = []
        self.words: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.attrs.append((tag, dict(attrs)))
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.attrs.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in {"style", "script"}:
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def values(self, name: str) -> list[str]:
        return [attrs[name] or "" for _, attrs in self.attrs if name in attrs]


def pages_of(folder):
    files = sorted(folder.resolve().rglob("*.html"))
    return {path: Page(path.read_text(encoding="utf-8")) for path in files}


@pytest.fixture(scope="module")
def pages(report):
    return pages_of(report)


def test_a_page_a_point_a_page_a_detector_an_index_and_a_watch_sheet_are_written(pages, diagnosis):
    kinds = [path.parent.name for path in pages]
    assert kinds.count("points") == len(diagnosis.points)
    assert kinds.count("detectors") == len(set(diagnosis.detectors["detector"]))
    assert len(pages) == 2 + kinds.count("points") + kinds.count("detectors")


def test_every_page_stands_also_when_no_table_has_a_row(bare_report):
    pages = {path.name: page for path, page in pages_of(bare_report).items()}
    assert set(pages) == {"index.html", "watch.html"}
    assert "Nothing in these logs asks for a person now" in pages["index.html"].text
    assert "Every new alarm is." in pages["watch.html"].text
    assert all("no permit to enter" in page.text for page in pages.values())


def test_no_page_needs_a_network_or_an_outside_file(pages):
    for path, page in pages.items():
        tags = {tag for tag, _ in page.attrs}
        assert not tags & {"link", "img", "iframe", "object", "embed"}, path
        assert not any("src" in attrs for tag, attrs in page.attrs if tag == "script"), path
        for value in page.values("href") + page.values("src") + page.values("xlink:href"):
            assert not re.match(r"(?i)(https?:)?//|data:|javascript:", value), value
        style = path.read_text(encoding="utf-8")
        assert "@import" not in style
        assert not re.search(r"url\((?!#)", style)


def test_every_link_leads_to_a_file_or_a_place_on_the_page(pages):
    for path, page in pages.items():
        ids = set(page.values("id"))
        for value in page.values("href"):
            file, _, place = value.partition("#")
            if not file:
                assert place in ids, value
            else:
                assert (path.parent / file).is_file(), value
                if place:
                    there = pages[(path.parent / file).resolve()]
                    assert place in there.values("id"), value


def test_ids_are_unique_on_each_page(pages):
    for path, page in pages.items():
        ids = page.values("id")
        assert len(ids) == len(set(ids)), path


def test_pictures_refer_only_to_their_own_ids(pages):
    for path, page in pages.items():
        ids = set(page.values("id"))
        text = path.read_text(encoding="utf-8")
        assert set(re.findall(r"url\(#([^)]+)\)", text)) <= ids


def test_headings_come_in_order_and_pages_name_their_language(pages):
    for page in pages.values():
        assert page.headings[0] == 1
        assert page.headings.count(1) == 1
        assert max(np.diff(page.headings)) <= 1
        assert dict(page.attrs)["html"] == {"lang": "en"}


def test_pictures_have_a_text_for_those_who_cannot_see_them(pages):
    for page in pages.values():
        for tag, attrs in page.attrs:
            if attrs.get("role") == "img":
                assert attrs.get("aria-label"), tag


def test_a_tag_in_a_name_or_sentence_never_reaches_a_page_raw(report):
    for path in report.rglob("*"):
        if path.suffix in {".html", ".svg"}:
            text = path.read_text(encoding="utf-8")
            assert "<b>3" not in text, path
            assert "<i>." not in text, path
            assert "<31 Feb>" not in text, path


def test_the_name_is_shown_as_written_and_files_are_named_safely(pages, report):
    assert any(NASTY in page.text for page in pages.values())
    for path in report.rglob("*"):
        assert re.fullmatch(r"[A-Za-z0-9._-]+", path.name), path.name


def test_plots_are_well_formed_xml_and_show_a_dollar_as_a_dollar(report):
    plots = sorted((report / "plots").glob("*.svg"))
    assert len(plots) >= 5
    for path in plots:
        root = ET.fromstring(path.read_text(encoding="utf-8"))
        assert root.tag.endswith("svg")


def test_usual_cautions_stand_on_every_page(pages):
    for page in pages.values():
        assert "no gas-free certificate and no permit to enter" in page.text
        assert "acted on as real until it is shown otherwise" in page.text
        assert "class society, the flag state and licensed practice decide" in page.text
        assert "from outside the space" in page.text


def test_what_needs_a_person_comes_first_and_gas_before_all(report):
    text = Page((report / "index.html").read_text(encoding="utf-8")).text
    order = ["Possible gas", "Not watched VOID 4", "Growing fault detector HC", "Alarms by cause "]
    text = text[text.index("In the order in which it asks") :].replace("◌ ", "")
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_times_are_ships_time_with_utc_beside(report):
    text = Page((report / "points" / "p01.html").read_text(encoding="utf-8")).text
    assert "2026-03-28 03:00 00:00 UTC" in text  # raised at 2026-03-28T00:00Z, clock UTC+3


def test_an_open_alarm_reads_still_open(report):
    text = Page((report / "points" / "p01.html").read_text(encoding="utf-8")).text
    assert "still open" in text
    assert "Unresolved: treat as gas" in text


def test_evidence_names_source_rows_runner_up_and_outcomes(report):
    text = Page((report / "points" / "p01.html").read_text(encoding="utf-8")).text
    for words in (
        "readings.csv, rows 1200 to 1450",
        "Runner-up: water in the line.",
        "No data for: Cargo work at the time.",
        "A spike or an old sample is likely.",
    ):
        assert words in text


def test_each_page_shows_whole_period_and_at_most_four_zooms(report):
    for path in (report / "points").glob("*.html"):
        count = path.read_text(encoding="utf-8").count("<figure>")
        assert 1 <= count <= 5


def test_pages_stand_without_flow_gas_or_known_setpoints(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    visits = full.visits.drop(columns=["H2S", "H2S_status", "H2S_excess", "HC_status"])
    visits = visits.assign(flow=np.nan, suction=np.nan, flow_share=np.nan, conductance=np.nan)
    visits.loc[visits["point"] == "VOID 4", "HC"] = np.nan
    thin = dataclasses.replace(
        full,
        visits=visits,
        setpoints=full.setpoints.iloc[:0],
        zeros=full.zeros.assign(low=np.nan, high=np.nan),
        points=full.points.assign(space=None, next_check=np.nan, clean_flow=np.nan),
    )
    folder = write_report(thin, tmp_path / "r")
    assert len(list((folder / "points").iterdir())) == 4


def test_a_clock_change_and_one_visit_are_drawn(tmp_path):
    full = make_diagnosis(days=6, minutes=60, zone="UTC-03:30")
    clock = dataclasses.replace(
        full.logs.clock, changes=((pd.Timestamp("2026-03-03T00:00Z"), 2.0),)
    )
    lone = dataclasses.replace(
        full,
        logs=dataclasses.replace(full.logs, clock=clock),
        visits=full.visits.groupby("point").head(1),
    )
    folder = write_report(lone, tmp_path / "r")
    assert "UTC+2 from 2026-03-03 00:00 UTC" in (folder / "index.html").read_text("utf-8")


def test_many_conditions_are_cut_on_the_first_page_but_those_still_so_stay(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    short = full.conditions.iloc[[1] * 60]
    many = pd.concat([short, full.conditions.iloc[[0]]], ignore_index=True)
    folder = write_report(dataclasses.replace(full, conditions=many), tmp_path / "r")
    text = Page((folder / "index.html").read_text(encoding="utf-8")).text
    assert "21 more are in conditions.csv" in text
    assert "still so 93 % Resistance doubled." in text


def test_first_page_tells_the_record_of_the_verdicts_by_cause(report):
    said = Page((report / "index.html").read_text(encoding="utf-8")).text
    assert "Verdicts that engineers confirmed: 1; that they refuted: 1." in said
    assert "In conflict: 1." in said


def test_first_page_without_findings_says_that_nobody_judged_it(bare_report):
    said = Page((bare_report / "index.html").read_text(encoding="utf-8")).text
    assert "nobody has judged these verdicts yet" in said


def test_page_of_a_point_says_what_came_of_each_finding(report):
    said = " ".join(page.text for page in pages_of(report).values())
    assert "confirms the verdict" in said
    assert "a sign, no verdict; conflict: gas is not ruled out" in said
