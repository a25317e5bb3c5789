"""What README and DEVELOPERS promise must be so."""

from __future__ import annotations

import re
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
    assert unsaid == {"tolerance", "ceiling"}


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_command_line_shown_is_understood(page):
    shown = re.findall(r"alarmsift ((?:diagnose|describe|setpoints|simulate) [^\n#`|]*)", page)
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
    compile(text, "README.md", "exec")


@pytest.mark.parametrize("page", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_file_named_is_there(page):
    links = re.findall(r"\]\(([^)#]+)\)", page)
    files = re.findall(r"`((?:signs|conditions|report|tests|evidence)/[\w/]+\.\w+)`", page)
    rooms = ROOT / "analysis" / "alarmsift"
    for name in (one for one in links + files if "NAME" not in one):
        assert (ROOT / name).exists() or (rooms / name).exists(), name


def test_the_version_is_in_the_changes():
    assert f"### {alarmsift.__version__}" in README
