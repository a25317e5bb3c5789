"""``describe``: prints what was understood, and writes only when asked."""

from __future__ import annotations

import tomllib

from hand_made_ship import write_logs


def test_describe_prints_the_summary_and_writes_nothing(alarmsift, here):
    logs = write_logs(here / "logs", days=0.5)
    before = {path: path.read_bytes() for path in logs.iterdir()}
    ran = alarmsift("describe", logs)
    assert ran.status == 0
    assert "readings.csv: readings (plain layout" in ran.out
    assert "288 rows" in ran.out  # half a day, 144 visits, two gases
    assert ran.err == ""
    assert {path: path.read_bytes() for path in logs.iterdir()} == before
    assert [path.name for path in here.iterdir()] == ["logs"]


def test_save_writes_a_site_file_that_reads_the_same_logs_alike(alarmsift, here):
    logs = write_logs(here / "logs", days=0.5)
    first = alarmsift("describe", logs, "--save")
    assert first.status == 0
    text = (logs / "site.toml").read_text(encoding="utf-8")
    said = tomllib.loads(text)
    assert said["clock"] == "UTC"
    assert said["cycle_limit_min"] == 30
    assert said["name"] == "logs"
    assert said["aliases"] == {}
    assert '# HC = "%LFL"' in text  # a unit that files say themselves is never laid down here
    again = alarmsift("describe", logs)
    assert again.status == 0
    assert again.out.split("Understood")[0] == first.out.split("\nSaved")[0].split("Understood")[0]


def test_save_never_changes_a_site_file_that_is_there(alarmsift, here, ship):
    logs = write_logs(here / "logs", days=0.5)
    (logs / "site.toml").write_text('clock = "UTC+3"\n', encoding="utf-8")
    ran = alarmsift("describe", logs, "--save")
    assert ran.status == 2
    assert "was left as it is" in ran.err
    assert (logs / "site.toml").read_text(encoding="utf-8") == 'clock = "UTC+3"\n'


def test_a_single_cabinet_becomes_the_reference_point(alarmsift, here):
    logs = write_logs(here / "logs", days=0.5)
    (logs / "points.csv").write_text(
        "point,space,kind\nCABINET,cabinet,cabinet\nWBT 1P,WBT 1,ballast\n", encoding="utf-8"
    )
    assert alarmsift("describe", logs, "--save").status == 0
    said = tomllib.loads((logs / "site.toml").read_text(encoding="utf-8"))
    assert said["reference_point"] == "CABINET"


def test_odd_names_can_stand_in_the_site_file(alarmsift, here):
    logs = write_logs(here / 'ship "A" b', days=0.5)
    assert alarmsift("describe", logs, "--save").status == 0
    said = tomllib.loads((logs / "site.toml").read_text(encoding="utf-8"))
    assert said["name"] == 'ship "A" b'
