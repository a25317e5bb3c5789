"""Help, version, wrong words: what the command line says before any work."""

from __future__ import annotations

import subprocess
import sys

import pytest

from alarmsift import __version__

HEAVY = ("pandas", "numpy", "scipy", "pyarrow", "matplotlib", "jinja2", "ruptures", "tqdm")


def loaded_after(code: str) -> list[str]:
    """Which heavy libraries a fresh Python has loaded after running some code."""
    ask = f"import sys; {code}; print(*[name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", ask], capture_output=True, text=True, check=True, encoding="utf-8"
    )
    return done.stdout.split("\n")[-2].split()


def test_help_loads_no_big_library():
    assert loaded_after("from alarmsift.cli.main import run; run(['diagnose', '--help'])") == []


def test_help_on_setpoints_loads_no_big_library():
    assert loaded_after("from alarmsift.cli.main import run; run(['setpoints', '--help'])") == []


def test_import_alarmsift_loads_no_big_library():
    assert loaded_after("import alarmsift; alarmsift.__version__") == []


def test_python_m_alarmsift_is_the_same_command():
    done = subprocess.run(
        [sys.executable, "-m", "alarmsift", "--help"],
        capture_output=True,
        text=True,
        check=True,
        encoding="utf-8",
    )
    for command in ("diagnose", "describe", "simulate"):
        assert command in done.stdout
    assert "usage: alarmsift " in done.stdout
    assert done.stderr == ""


@pytest.mark.parametrize("command", ["diagnose", "describe", "setpoints", "simulate"])
def test_every_command_explains_itself(alarmsift, command):
    ran = alarmsift(command, "--help")
    assert ran.status == 0
    assert f"usage: alarmsift {command}" in ran.out
    assert "--traceback" not in ran.out  # for developers only


def test_help_says_what_the_statuses_mean_and_warns(alarmsift):
    words = " ".join(alarmsift("--help").out.split())
    assert "No gas-free certificate" in words
    assert "Exit status: 0" in words


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "COMMAND"),
        (["diagnoze", "x"], "invalid choice"),
        (["diagnose"], "LOGS"),
        (["diagnose", "x", "--ou", "y"], "--ou"),
        (["describe", "x", "--out", "y"], "--out"),
        (["simulate", "x", "--seed", "-3"], "whole number"),
        (["simulate", "x", "--seed", "two"], "whole number"),
        (["simulate", "x", "--days", "0"], "from 1 to"),
        (["simulate", "x", "--days", "nan"], "from 1 to"),
        (["setpoints", "x", "--goal", "0"], "over 0"),
        (["setpoints", "x", "--air-changes", "-1"], "from 0 up"),
        (["simulate", "x", "--layout", "round"], "plain"),
    ],
)
def test_a_wrong_command_line_gets_one_message_and_status_2(alarmsift, here, words, told):
    ran = alarmsift(*words)
    assert ran.status == 2
    assert told in ran.err
    assert ran.err.count("\n") == 1
    assert "--help" in ran.err
    assert ran.out == ""
    assert not list(here.iterdir())


def test_version_is_printed(alarmsift):
    assert alarmsift("--version").out == f"alarmsift {__version__}\n"
