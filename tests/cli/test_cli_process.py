"""Real processes: consoles with few letters, pipes that close early, the installed command."""

from __future__ import annotations

import os
import subprocess
import sys

from hand_made_ship import reading_rows, write_logs


def process(*words: object, **extra: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "alarmsift", *map(str, words)],
        capture_output=True,
        check=False,
        env={**os.environ, **extra},
    )


def test_a_console_with_few_letters_does_not_stop_the_run(here):
    logs = write_logs(here / "ship Å ж", days=0.5)
    done = process("describe", logs, PYTHONIOENCODING="cp1252", PYTHONUTF8="0")
    assert done.returncode == 0
    assert b"Traceback" not in done.stderr
    missing = process("describe", here / "nowhere ж", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert missing.returncode == 2
    assert b"there is no folder 'nowhere ?'" in missing.stderr


def test_no_command_is_stopped_by_a_console_of_code_page_1252(here):
    """Names in Cyrillic and Chinese: such a console can show none of their letters."""
    rows = [row.replace("WBT 1S", "Танк 1S").replace("CABINET", "机舱") for row in reading_rows()]
    logs = write_logs(here / "судно 船", rows)
    events = (logs / "events.csv").read_text(encoding="utf-8").replace("WBT 1S", "Танк 1S")
    (logs / "events.csv").write_text(events, encoding="utf-8")
    ends = ("--from", "2026-03-02T06:00", "--to", "2026-03-02T14:00")
    for words in (
        ("describe", logs, "--save"),
        ("diagnose", logs, "--out", "отчёт"),
        ("setpoints", logs, "--out", "отчёт"),
        ("incident", logs, *ends, "--point", "Танк 1S", "--out", "дело"),
        ("verify", "дело"),
        ("simulate", "новое", "--days", "1"),
        ("--help",),
    ):
        done = process(*words, PYTHONIOENCODING="cp1252", PYTHONUTF8="0")
        said = done.stderr.decode("cp1252")
        assert (done.returncode, "Traceback" in said) == (0, False), (words, said)


def test_a_reader_that_closes_the_pipe_is_no_error(here):
    logs = write_logs(here / "logs", days=0.5)
    words = [sys.executable, "-m", "alarmsift", "describe", str(logs)]
    running = subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert running.stdout is not None and running.stderr is not None
    running.stdout.close()
    told = running.stderr.read()
    running.stderr.close()
    assert running.wait() == 0
    assert told == b""


def test_nothing_of_a_library_leaks_onto_the_screen(here):
    logs = write_logs(here / "logs", days=0.5)
    done = process("describe", logs)
    assert done.stderr == b""
