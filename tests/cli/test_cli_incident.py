"""``alarmsift incident`` and ``alarmsift verify``: words, files and exit status."""

from __future__ import annotations

import pytest

WINDOW = ("--from", "2026-03-02T07:00", "--to", "2026-03-02T13:00")  # ship's time, UTC+2


@pytest.fixture
def packed(alarmsift, ship, here):
    ran = alarmsift("incident", ship, *WINDOW, "--out", "pack")
    assert ran.status == 0
    assert ran.err == ""
    assert "alarmsift verify pack --rerun" in ran.out
    return here / "pack"


def test_a_pack_is_written_and_verifies(alarmsift, packed):
    ran = alarmsift("verify", "pack", "--rerun")
    assert ran.status == 0
    assert "0 changed, 0 missing, 0 added" in ran.out
    assert "0 different" in ran.out
    assert "Not signed" in ran.out


def test_a_changed_pack_is_named_and_ends_with_status_4(alarmsift, packed):
    (packed / "data" / "sources" / "events.csv").write_text("time\n", encoding="utf-8")
    ran = alarmsift("verify", "pack")
    assert ran.status == 4
    assert "changed  data/sources/events.csv" in ran.out
    assert "not as it was sealed" in ran.err


def test_a_hostile_pack_is_refused_with_status_2(alarmsift, packed):
    with (packed / "manifest-sha256.txt").open("a", encoding="utf-8", newline="\n") as file:
        file.write(f"{'0' * 64}  ../../outside.csv\n")
    ran = alarmsift("verify", "pack", "--rerun")
    assert ran.status == 2
    assert "../../outside.csv" in ran.err


def test_the_window_is_ships_time_and_the_default_place_beside_the_report(alarmsift, ship, here):
    assert alarmsift("incident", ship, *WINDOW, "--point", "WBT 1S").status == 0
    settings = here / "reports" / "plain_example-incident" / "data" / "settings.json"
    assert '"from": "2026-03-02T05:00:00Z"' in settings.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--from", "yesterday", "--to", "2026-03-02T13:00"), "--from 'yesterday' is not a time"),
        ((*WINDOW, "--point", "WBT 9"), "there is no point 'WBT 9'"),
        ((*WINDOW, "--leave-out", "value"), "no file has such a column"),
        ((*WINDOW, "--sign", "nokey.pem"), "nokey.pem"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_status_2(alarmsift, ship, here, words, told):
    ran = alarmsift("incident", ship, *words, "--out", "pack")
    assert ran.status == 2
    assert told in ran.err
    assert not (here / "pack").exists()


def test_logs_may_not_be_a_pack(alarmsift, packed):
    ran = alarmsift("diagnose", "pack")
    assert ran.status == 2
    assert "alarmsift wrote" in ran.err
