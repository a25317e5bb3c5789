"""The main job from the command line: files, words, statuses."""

from __future__ import annotations

import csv
import io
import sys
from pathlib import Path

import pandas as pd
import pytest
from hand_made_ship import HEADER, POINTS, reading_rows, write_logs

import alarmsift.report.folder as report_folder
from alarmsift.cli import bar as bars
from alarmsift.tables.marker import MARKER


@pytest.fixture(scope="module")
def garbled(tmp_path_factory):
    """Logs with every hundredth value spoilt."""
    rows = reading_rows()
    for number in range(0, len(rows), 100):
        cells = rows[number].split(",")
        cells[3] = "#ERR?"
        rows[number] = ",".join(cells)
    return write_logs(tmp_path_factory.mktemp("garbled") / "logs", rows), len(
        range(0, len(rows), 100)
    )


def rejected(folder: Path) -> list[dict[str, str]]:
    with (folder / "rejected_rows.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_report_goes_to_reports_by_default_and_its_page_is_named(alarmsift, here, ship):
    ran = alarmsift("diagnose", ship)
    assert ran.status == 0, ran.err
    page = Path("reports") / "plain_example" / "index.html"
    assert page.is_file()
    assert f"Report: {page}" in ran.out
    assert str(here) not in ran.out
    for point in POINTS:
        assert point in ran.out
    assert ran.err == ""  # no bar where nobody looks
    episodes = pd.read_csv(page.parent / "episodes.csv")
    assert list(episodes["point"]) == ["WBT 1S"]
    assert episodes.loc[0, "treat_as"] != "nuisance"  # a slow rise to 46 %LFL and back


def test_the_tables_of_a_report_are_a_log_folder_again_also_the_empty_ones(alarmsift, here):
    assert alarmsift("diagnose", write_logs(here / "logs"), "--out", "first").status == 0
    sizes = [len(pd.read_parquet(table)) for table in (here / "first" / "tables").glob("*.parquet")]
    assert 0 in sizes
    ran = alarmsift("diagnose", Path("first") / "tables", "--out", "again")
    assert ran.status == 0, ran.err
    first, again = (Path(name, "episodes.csv").read_bytes() for name in ("first", "again"))
    assert first == again


def test_an_older_report_is_replaced_and_nothing_else_is_left(alarmsift, here, ship):
    old = here / "rep"
    old.mkdir()
    (old / MARKER).write_text("{}", encoding="utf-8")
    (old / "old.txt").write_text("old", encoding="utf-8")
    assert alarmsift("diagnose", ship, "--out", "rep").status == 0
    assert not (old / "old.txt").exists()
    assert [path.name for path in here.iterdir()] == ["rep"]


def test_strict_gives_status_3_and_the_report_all_the_same(alarmsift, here):
    rows = reading_rows()
    rows[40] = "not a time" + rows[40][20:]
    logs = write_logs(here / "logs", rows)
    ran = alarmsift("diagnose", logs, "--out", "rep", "--strict")
    assert ran.status == 3
    assert (here / "rep" / "index.html").is_file()
    assert "1 rows were refused" in ran.err
    assert str(Path("rep") / "rejected_rows.csv") in ran.err
    assert [row["row"] for row in rejected(here / "rep")] == ["42"]  # as an editor counts lines


def test_strict_gives_status_0_when_every_row_was_kept(alarmsift, here, ship):
    assert alarmsift("diagnose", ship, "--out", "rep", "--strict").status == 0


def test_one_percent_of_garbage_is_counted_and_the_rest_is_diagnosed(alarmsift, here, garbled):
    logs, spoilt = garbled
    ran = alarmsift("diagnose", logs, "--out", "rep")
    assert ran.status == 0
    assert f"{spoilt} " in ran.out.splitlines()[-1]
    assert len(rejected(here / "rep")) == spoilt


def test_a_point_that_occurs_once_is_on_the_report(alarmsift, here):
    rows = [*reading_rows(), "2026-03-02T00:00:00Z,WBT 9,HC,0.0,%LFL,ok,2.9,12.1"]
    ran = alarmsift("diagnose", write_logs(here / "logs", rows), "--out", "rep")
    assert ran.status == 0, ran.err
    assert "WBT 9" in ran.out


def test_a_last_line_that_was_cut_costs_only_itself(alarmsift, here):
    logs = write_logs(here / "logs", days=1.0)
    with (logs / "readings.csv").open("a", encoding="utf-8") as file:
        file.write("2026-03-02T00:00:00Z,WBT 1P,H")
    ran = alarmsift("diagnose", logs, "--out", "rep")
    assert ran.status == 0, ran.err
    assert len(rejected(here / "rep")) == 1


@pytest.mark.parametrize("head", [HEADER + "\n" + reading_rows(0.01)[0] + "\n"])
def test_one_single_reading_is_enough_for_a_report(alarmsift, here, head):
    (here / "logs").mkdir()
    (here / "logs" / "r.csv").write_text(head, encoding="utf-8")
    ran = alarmsift("diagnose", "logs", "--out", "rep")
    assert ran.status == 0, ran.err
    assert (here / "rep" / "index.html").is_file()


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("a.csv", b"", "empty"),
        ("a.csv", HEADER.encode() + b"\n", "no rows"),
        ("a.csv", bytes(range(256)) * 40, "binary"),
        ("a.csv", b"\x89PNG\r\n\x1a\n" + bytes(200), "picture"),
        ("a.xlsx", b"PK\x03\x04", "a.xlsx"),
        ("a.csv", b"this is not\na table\n", "readings"),
        ("site.toml", b"clock = ship", "site.toml"),
    ],
)
def test_logs_that_cannot_be_used_get_one_clear_message(alarmsift, here, name, content, told):
    (here / "logs").mkdir()
    (here / "logs" / name).write_bytes(content)
    for command in ("diagnose", "describe"):
        ran = alarmsift(command, "logs")
        assert ran.status == 2
        assert told in ran.err
        assert ran.err.startswith("alarmsift: ")
        assert str(here) not in ran.err
        assert ran.out == ""
    assert [path.name for path in here.iterdir()] == ["logs"]


def test_a_missing_or_empty_folder_or_a_file_is_told(alarmsift, here, ship):
    (here / "empty").mkdir()
    assert "there is no folder 'nowhere'" in alarmsift("diagnose", "nowhere").err
    assert "no .csv" in alarmsift("diagnose", "empty").err
    assert "is a file" in alarmsift("diagnose", ship / "readings.csv").err
    for logs in ("nowhere", "empty", ship / "readings.csv"):
        assert alarmsift("diagnose", logs).status == 2


@pytest.mark.parametrize("out", [".", "logs", "logs/../logs", "taken", "file.txt"])
def test_an_output_that_would_harm_something_is_refused_before_work(alarmsift, here, out):
    logs = write_logs(here / "logs", days=0.1)
    (here / "taken").mkdir()
    (here / "taken" / "letter.doc").write_text("mine", encoding="utf-8")
    (here / "file.txt").write_text("mine", encoding="utf-8")
    before = sorted(path.name for path in here.rglob("*"))
    ran = alarmsift("diagnose", logs, "--out", out)
    assert ran.status == 2
    assert "--out" in ran.err
    assert sorted(path.name for path in here.rglob("*")) == before


@pytest.mark.parametrize("error", [KeyboardInterrupt(), RuntimeError("x"), OSError(28, "No space")])
def test_a_run_that_breaks_off_leaves_nothing_half_written(
    alarmsift, here, ship, monkeypatch, error
):
    (here / "rep").mkdir()
    (here / "rep" / MARKER).write_text("{}", encoding="utf-8")
    (here / "rep" / "older.html").write_text("older", encoding="utf-8")

    def breaks(*_args, **_words):
        raise error

    monkeypatch.setattr(report_folder, "write_parquet_files", breaks)
    ran = alarmsift("diagnose", ship, "--out", "rep")
    assert ran.status == {KeyboardInterrupt: 130, RuntimeError: 1, OSError: 2}[type(error)]
    assert ran.err.count("\n") == 1
    assert [path.name for path in here.iterdir()] == ["rep"]
    assert (here / "rep" / "older.html").read_text(encoding="utf-8") == "older"


def test_an_unexpected_error_is_owned_up_to_in_one_sentence(alarmsift, here, ship, monkeypatch):
    def breaks(_diagnosis):
        raise ZeroDivisionError(f"something about {here}")

    monkeypatch.setattr("alarmsift.report.terminal.table", breaks)
    ran = alarmsift("diagnose", ship, "--out", "rep")
    assert ran.status == 1
    assert "fault of alarmsift" in ran.err
    assert "ZeroDivisionError in alarmsift/cli/diagnose.py, line" in ran.err
    assert "describe" in ran.err
    assert str(here) not in ran.err
    with pytest.raises(ZeroDivisionError):
        alarmsift("diagnose", ship, "--out", "rep", "--traceback")


def test_memory_that_runs_out_is_told_with_what_to_do(alarmsift, here, ship, monkeypatch):
    def breaks(*_args, **_words):
        raise MemoryError

    monkeypatch.setattr("alarmsift.pipeline.diagnose.diagnose", breaks)
    ran = alarmsift("diagnose", ship)
    assert ran.status == 2
    assert "memory" in ran.err


def test_weights_of_the_users_own_are_named_without_their_path(alarmsift, here, ship):
    own = here / "secret place" / "our weights.csv"
    own.parent.mkdir()
    own.write_text("sign,cause,present,absent\nprior,water,4,\n", encoding="utf-8")
    ran = alarmsift("diagnose", ship, "--out", "rep", "--weights", own)
    assert ran.status == 0, ran.err
    words = "changed by our weights.csv: 1 row differs"
    assert words in " ".join(ran.out.split())
    pages = [here / "rep" / "index.html", *(here / "rep" / "points").glob("*.html")]
    assert len(pages) == 1 + len(POINTS)
    for page in pages:
        assert words in page.read_text(encoding="utf-8")
    for path in (here / "rep").rglob("*"):
        assert path.is_dir() or b"secret place" not in path.read_bytes()
    printed = pd.read_csv(here / "rep" / "weights.csv").set_index(["sign", "cause"])
    assert printed.loc[("prior", "water"), "present"] == 4.0
    ran = alarmsift("diagnose", ship, "--out", "rep", "--weights", Path("rep") / "weights.csv")
    assert "changed by weights.csv: 1 row differs" in " ".join(ran.out.split())


def test_weights_that_cannot_be_used_stop_the_run_before_the_logs_are_read(
    alarmsift, here, ship, monkeypatch
):
    monkeypatch.setattr("alarmsift.reading.folder.read_logs", pytest.fail)
    (here / "w.csv").write_text("sign,cause,present,absent\nprior,gas,61,\n", encoding="utf-8")
    ran = alarmsift("diagnose", ship, "--weights", "w.csv")
    assert ran.status == 2
    assert "file w.csv, row 2, column 'present': '61' can't be used" in ran.err
    assert ran.err.count("\n") == 1
    assert alarmsift("diagnose", ship, "--weights", "nowhere.csv").status == 2
    assert [path.name for path in here.iterdir()] == ["w.csv"]


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_bar_is_for_a_person_at_a_terminal_only(monkeypatch):
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    assert type(bars.bar()).__name__ == "Progress"
    seen = Terminal()
    monkeypatch.setattr(sys, "stderr", seen)
    bar = bars.bar()
    bar.step()  # before any stage: nothing to count
    bar.stage("Drawing pages", total=3)
    bar.step()
    bar.stage("Something else")
    bar.close()
    bar.close()
    assert "Drawing pages" in seen.getvalue()
    assert "Something else" in seen.getvalue()
