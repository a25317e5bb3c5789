"""The PDF, read back with pypdf."""

import dataclasses
import getpass
import hashlib
import re
import socket

import pytest
from pypdf import PdfReader
from report_fixture import NASTY, make_diagnosis

from alarmsift.report.folder import write_report


def text_of(folder):
    return [
        " ".join(page.extract_text().split()) for page in PdfReader(folder / "report.pdf").pages
    ]


@pytest.fixture(scope="module")
def sheets(report):
    return text_of(report)


def renamed(name):
    full = make_diagnosis(days=6, minutes=60, points=["A", name, "C", "D"])
    site = dataclasses.replace(full.logs.site, name=name)
    return dataclasses.replace(full, logs=dataclasses.replace(full.logs, site=site))


def test_each_sheet_names_ship_page_and_caution_and_the_first_the_period(sheets):
    for k, text in enumerate(sheets):
        assert "Larch Example" in text
        assert f"{k + 1} / {len(sheets)}" in text
        assert "no gas-free certificate and no permit to enter" in text
    assert "2026-03-01 03:00 (00:00 UTC) to 2026-03-31 02:43 (03-30 23:43 UTC)" in sheets[0]


def test_every_point_that_asks_for_a_person_has_its_own_sheet(sheets, diagnosis):
    asking = diagnosis.points.loc[diagnosis.points["needs_person"], "point"]
    assert len(asking)
    for point in asking:
        headline = diagnosis.points.set_index("point")["headline"][point]
        mine = [text for text in sheets if headline in text]
        assert len(mine) == 1, point
        assert "Treat as gas" in mine[0] or "blocked" in mine[0]


def test_all_usual_cautions_stand_in_it(sheets):
    whole = " ".join(sheets)
    assert "class society, the flag state and licensed practice decide" in whole
    assert "from outside the space" in whole
    assert "never time to spare" in whole


def test_name_is_shown_as_written(sheets):
    assert any(NASTY in text for text in sheets)


def test_same_diagnosis_gives_the_same_bytes(tmp_path, diagnosis, report):
    again = write_report(diagnosis, tmp_path / "again")
    one, two = ((folder / "report.pdf").read_bytes() for folder in (report, again))
    assert hashlib.sha256(one).digest() == hashlib.sha256(two).digest()


def test_nothing_tells_who_made_it_or_when(report):
    about = PdfReader(report / "report.pdf").metadata
    said = " ".join(f"{key} {value}" for key, value in about.items())
    assert "20260330234300" in said  # the last row of the logs
    assert not re.search(rf"\b({re.escape(getpass.getuser())}|{socket.gethostname()})\b", said)


@pytest.mark.parametrize("name", ["ΔΕΞΑΜΕΝΗ 2", "Танк 3 ЛБ", "Køl Øst ÅÄÖ"])
def test_greek_cyrillic_and_northern_names_stay_whole(tmp_path, name):
    whole = " ".join(text_of(write_report(renamed(name), tmp_path / "r")))
    assert name in whole
    assert "not in this document's font" not in whole


def test_letters_that_the_font_lacks_are_named_and_stop_nothing(tmp_path):
    whole = " ".join(text_of(write_report(renamed("左舷 2 \U0001f6a2"), tmp_path / "r")))
    assert "□□ 2" in whole
    assert "3 letters in the logs are not in this document's font" in whole
    assert "U+5DE6, U+8237, U+1F6A2" in whole


def test_names_longer_than_a_sheet_is_wide_are_broken_not_lost(tmp_path):
    name = "W" * 300
    sheets = text_of(write_report(renamed(name), tmp_path / "r"))
    named = [name in text.replace(" ", "") for text in sheets]
    assert sum(named) >= 2  # the ship's on the first sheet, the point's on its own


def test_a_report_of_nothing_has_its_sheet(bare_report):
    (text,) = text_of(bare_report)
    assert "Nothing in these logs asks for a person now" in text
