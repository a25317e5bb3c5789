"""``simulate``: a log folder whole or not at all, and never over anything."""

from __future__ import annotations

import pytest

from alarmsift.simulate import write


def content(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*.*")}


@pytest.mark.parametrize("layout", ["plain", "merged", "wide"])
def test_a_simulated_folder_is_read_by_describe(alarmsift, here, layout):
    ran = alarmsift("simulate", "new/ship", "--days", 1, "--seed", 5, "--layout", layout)
    assert ran.status == 0, ran.err
    assert "Truth: " in ran.out
    told = alarmsift("describe", "new/ship")
    assert told.status == 0, told.err
    assert f"readings ({layout} layout" in told.out
    assert "truth/" not in told.out


def test_the_same_seed_gives_the_same_bytes_and_another_seed_another_ship(alarmsift, here):
    for out, seed in (("a", 4), ("b", 4), ("c", 6)):
        assert alarmsift("simulate", out, "--days", 1, "--seed", seed).status == 0
    assert content(here / "a") == content(here / "b")
    assert content(here / "a") != content(here / "c")


def test_an_empty_folder_is_filled_and_a_filled_one_refused(alarmsift, here):
    (here / "empty").mkdir()
    assert alarmsift("simulate", "empty", "--days", 1).status == 0
    (here / "full").mkdir()
    (here / "full" / "letter.txt").write_text("mine", encoding="utf-8")
    (here / "file").write_text("mine", encoding="utf-8")
    for out, told in (("full", "not empty"), ("file", "is a file"), ("empty", "not empty")):
        ran = alarmsift("simulate", out, "--days", 1)
        assert ran.status == 2
        assert told in ran.err
    assert [path.name for path in (here / "full").iterdir()] == ["letter.txt"]


@pytest.mark.parametrize("error", [KeyboardInterrupt(), RuntimeError(), OSError(28, "No space")])
def test_a_simulation_that_breaks_off_leaves_nothing(alarmsift, here, monkeypatch, error):
    def breaks(*_args, **_words):
        raise error

    monkeypatch.setattr(write, "_write_truth", breaks)
    assert alarmsift("simulate", "out", "--days", 1).status != 0
    assert list(here.iterdir()) == []
