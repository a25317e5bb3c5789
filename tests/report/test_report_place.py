"""The report appears whole or not at all, and never over what alarmsift did not make."""

import dataclasses
import shutil
from pathlib import Path

import pytest
from report_fixture import make_diagnosis, nothing_at_all

from alarmsift.errors import OutputError
from alarmsift.report import place
from alarmsift.report.folder import write_report
from alarmsift.report.place import check_target, whole_folder
from alarmsift.tables.marker import mark, marked


@pytest.fixture(scope="module")
def small():
    """A report without an alarm: its place in the folder is what counts here."""
    return nothing_at_all()


def fill(folder, name="a.txt"):
    folder.mkdir(parents=True)
    (folder / name).write_text("x", encoding="utf-8")


def names_in(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_folder_that_alarmsift_did_not_make_is_refused_and_untouched(tmp_path, small):
    fill(tmp_path / "mine")
    with pytest.raises(OutputError, match="did not write"):
        write_report(small, tmp_path / "mine")
    assert names_in(tmp_path / "mine") == ["a.txt"]
    assert names_in(tmp_path) == ["mine"]


def test_a_file_in_the_place_is_refused(tmp_path, small):
    (tmp_path / "report").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="is a file"):
        write_report(small, tmp_path / "report")


def test_an_empty_folder_and_an_own_folder_are_replaced(tmp_path, small):
    (tmp_path / "report").mkdir()
    write_report(small, tmp_path / "report")
    (tmp_path / "report" / "stale.txt").write_text("x", encoding="utf-8")
    write_report(small, tmp_path / "report")
    assert not (tmp_path / "report" / "stale.txt").exists()
    assert (tmp_path / "report" / "index.html").is_file()
    assert names_in(tmp_path) == ["report"]


def test_a_failure_midway_leaves_the_older_report_as_it_was(tmp_path, small):
    folder = write_report(small, tmp_path / "report")
    with_alarms = make_diagnosis(days=1, minutes=240)
    before = (folder / "index.html").read_bytes()

    def broken(episode):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        write_report(dataclasses.replace(with_alarms, sign_reader=broken), folder)
    assert (folder / "index.html").read_bytes() == before
    assert names_in(tmp_path) == ["report"]


def test_what_a_killed_run_left_is_cleared_away(tmp_path):
    left = tmp_path / ".report.part"
    fill(left)
    mark(left, "report")
    with whole_folder(tmp_path / "report", "report") as part:
        (part / "b.txt").write_text("y", encoding="utf-8")
    assert names_in(tmp_path) == ["report"]
    assert names_in(tmp_path / "report") == [".alarmsift.json", "b.txt"]


def test_a_run_killed_while_moving_gets_its_old_report_back(tmp_path):
    old = tmp_path / ".report.old"
    fill(old)
    mark(old, "report")
    with pytest.raises(KeyError), whole_folder(tmp_path / "report", "report"):
        raise KeyError
    assert "a.txt" in names_in(tmp_path / "report")


def test_a_part_is_marked_from_the_start_so_that_no_reader_takes_it_for_logs(tmp_path):
    with whole_folder(tmp_path / "report", "report") as part:
        assert marked(part)


def test_a_stranger_in_the_place_of_the_part_is_not_removed(tmp_path):
    fill(tmp_path / ".report.part")
    with (
        pytest.raises(OutputError, match="stands in the way"),
        whole_folder(tmp_path / "report", "report"),
    ):
        pass
    assert names_in(tmp_path / ".report.part") == ["a.txt"]


def test_a_place_that_cannot_be_written_gives_a_sentence(tmp_path, small):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="can't be written"):
        write_report(small, tmp_path / "file" / "report")


@pytest.mark.parametrize("held", ["report", ".report.part"])
def test_a_file_held_open_by_a_program_gives_a_sentence_and_the_old_report_stays(
    tmp_path, small, monkeypatch, held
):
    """Windows refuses to rename a folder while a file in it is open: PermissionError."""
    folder = write_report(small, tmp_path / "report")
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    rename = Path.rename

    def refused(self, target):
        if self.name == held:
            raise PermissionError(13, "The process cannot access the file", str(self))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refused)
    monkeypatch.setattr(place, "RENAME_WAIT_S", 0.0)
    with pytest.raises(OutputError, match=r"holds it or one of its files open.*untouched"):
        write_report(small, folder)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    assert names_in(tmp_path) == ["report"]
    monkeypatch.undo()
    write_report(small, folder)


def test_an_older_report_put_aside_that_cannot_be_removed_does_not_stop_the_next(
    tmp_path, small, monkeypatch
):
    """A viewer that opened a file while the folder was moved keeps the old one on the disk."""
    folder = write_report(small, tmp_path / "report")
    remove = shutil.rmtree
    monkeypatch.setattr(
        shutil,
        "rmtree",
        lambda path, **more: None if path.name.startswith(".report.old") else remove(path, **more),
    )
    write_report(small, folder)
    write_report(small, folder)
    assert (folder / "index.html").is_file()
    monkeypatch.undo()
    write_report(small, folder)
    assert names_in(tmp_path) == ["report"]


def test_the_log_folder_and_folders_around_it_are_refused(tmp_path):
    logs = tmp_path / "ship" / "logs"
    fill(logs)
    for folder in (logs, logs / ".", tmp_path / "ship", tmp_path):
        with pytest.raises(OutputError, match="would replace the logs"):
            check_target(folder, logs)


def test_even_a_marked_folder_around_the_logs_is_refused(tmp_path):
    fill(tmp_path / "report" / "tables")
    mark(tmp_path / "report", "report")
    with pytest.raises(OutputError, match="would replace the logs"):
        check_target(tmp_path / "report", tmp_path / "report" / "tables")


def test_a_folder_beside_or_inside_the_logs_is_allowed(tmp_path):
    fill(tmp_path / "logs")
    check_target(tmp_path / "report", tmp_path / "logs")
    check_target(tmp_path / "logs" / "report", tmp_path / "logs")
