from __future__ import annotations

from alarmsift.reading.describe import describe
from tests.reading.conftest import HEADER, Read, line


def test_says_what_each_file_was_and_what_was_lost(read: Read) -> None:
    rows = line(0) + line(5, flow="x") + line(5, flow="x") + line(10, gas="?") + line(400)
    text = describe(read({"jan/a.csv": HEADER + rows, "odd.csv": "foo;bar\n"}))
    for words in (
        "Logs of Example",
        "5 rows read = 3 kept + 1 refused + 1 duplicate",
        "jan/a.csv: readings (plain layout, utf-8, delimiter ,)",
        "2026-01-01 00:05 to 2026-01-01 06:40 (6.6 h)",
        "column 'flow': not a number; the row was kept",
        "odd.csv was not used",
        "1 points",
    ):
        assert words in text


def test_shows_on_a_console_of_code_page_1252(read: Read) -> None:
    rows = line(0, point="Δεξαμενή 1") + line(5, point="日本", flow="\u2028\x1b[31m")
    text = describe(read({"a.csv": HEADER + rows}))
    text.encode("cp1252")
    assert "\x1b" not in text


def test_times_are_ships_time(read: Read) -> None:
    text = describe(read({"a.csv": HEADER + line(0), "site.toml": 'clock = "UTC+3"\n'}))
    assert "From 2026-01-01 03:00 to 2026-01-01 03:00 ship's time" in text


def test_no_path_of_this_computer_stands_in_it(read: Read, tmp_path) -> None:
    text = describe(read({"a.csv": HEADER + line(0), "b.csv": "x\n"}))
    assert str(tmp_path) not in text
