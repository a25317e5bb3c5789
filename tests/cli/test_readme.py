"""What README and DEVELOPERS promise must be so."""

from __future__ import annotations

import re
import shutil
from dataclasses import fields
from pathlib import Path

import pytest

import alarmsift
from alarmsift.cli.parser import parser
from alarmsift.reading.site_file import read_site
from alarmsift.tables.schema import CAUSES
from alarmsift.tables.site import Site

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def block(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.DOTALL)


def test_the_site_file_shown_is_read_and_shows_most_keys(tmp_path):
    (text,) = block("toml")
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    site = read_site(tmp_path)
    assert site.clock == "UTC+3"
    assert site.aliases == {"No.2 WBT (S)": "WBT 2S"}
    assert len(site.setpoints) == 1
    unsaid = {field.name for field in fields(Site)} - set(site.given) - {"given", "setpoints"}
    assert unsaid == {"ceiling"}


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_command_line_shown_is_understood(page):
    shown = re.findall(
        r"alarmsift ((?:diagnose|describe|incident|verify|setpoints|simulate) [^\n#`|]*)", page
    )
    assert shown
    for words in shown:
        arguments = words.replace("\\", "/").split()
        assert parser().parse_args(arguments).command


def test_every_cause_is_explained():
    for cause in (*CAUSES, "undetermined"):
        assert f"| `{cause}` |" in README


def test_the_python_example_uses_names_that_exist():
    (text,) = block("python")
    names = set(re.findall(r"alarmsift\.(\w+)", text))
    assert names <= set(alarmsift.__all__)


def test_the_python_example_runs_as_it_stands(ship, tmp_path, monkeypatch, capsys):
    """On the small hand-made ship, so that it takes a second."""
    (text,) = block("python")
    (tmp_path / "sample_logs").mkdir()
    shutil.copytree(ship, tmp_path / "sample_logs" / "amber_heron")
    monkeypatch.chdir(tmp_path)
    exec(compile(text, "README.md", "exec"), {})
    shown = capsys.readouterr().out
    assert "WBT 1S" in shown
    assert "setpoint_ceiling" in shown
    assert "without_nuisance" in shown
    assert (tmp_path / "reports" / "amber_heron" / "possible_gas.csv").is_file()


def test_every_frame_of_a_diagnosis_and_of_logs_is_named():
    of = README.split("## From Python")[1].split("## Limits")[0]
    named = {name.split("(")[0] for name in re.findall(r"`([\w()]+)`", of)}
    hidden = {"logs", "learnt", "cycle_minutes", "sign_reader", "weights_change", "folder"}
    for kind in (alarmsift.Diagnosis, alarmsift.Logs):
        frames = {field.name for field in fields(kind)} - hidden - {"site", "clock", "name"}
        assert frames <= named | {"learnt"}, kind


def test_every_file_of_the_report_is_named(ship, tmp_path):
    logs = alarmsift.read_logs(ship)
    alarmsift.write_report(alarmsift.diagnose(logs), tmp_path / "r")
    for path in (tmp_path / "r").glob("*.csv"):
        assert f"`{path.name}`" in README


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_named_is_there(page):
    links = re.findall(r"\]\(([^)#]+)\)", page)
    files = re.findall(r"`((?:signs|conditions|report|tests|evidence)/[\w/]+\.\w+)`", page)
    rooms = ROOT / "analysis" / "alarmsift"
    for name in (one for one in links + files if "NAME" not in one):
        assert (ROOT / name).exists() or (rooms / name).exists(), name


def test_the_version_is_in_the_changes():
    assert f"### {alarmsift.__version__}" in README
