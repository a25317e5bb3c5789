"""The files for other programs: columns, times, schema, equal bytes."""

import csv
import dataclasses
import getpass
import hashlib
import json
import re
import socket

import jsonschema
import numpy as np
import pandas as pd
import pytest
from report_fixture import make_diagnosis

from alarmsift.report import terminal
from alarmsift.report.folder import write_report
from alarmsift.report.json_file import SCHEMA_PATH
from alarmsift.tables import diagnosis as names
from alarmsift.tables.logs import REJECTED_COLUMNS
from alarmsift.tables.marker import marked
from alarmsift.tables.schema import TABLES, conform

COLUMNS = {
    "episodes": names.EPISODE_COLUMNS,
    "conditions": names.CONDITION_COLUMNS,
    "coverage": names.COVERAGE_COLUMNS,
    "calibration": names.CALIBRATION_COLUMNS,
    "calibration_ledger": names.LEDGER_COLUMNS,
    "detectors": names.DETECTOR_COLUMNS,
    "repairs": names.REPAIR_COLUMNS,
    "rejected_rows": REJECTED_COLUMNS,
    "weights": names.WEIGHT_COLUMNS,
}
# ISO 8601 date and time in UTC with the designator Z.
ISO_Z = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.mark.parametrize("name", COLUMNS)
def test_csv_has_its_columns_also_when_empty(name, report, bare_report):
    assert rows_of(report / f"{name}.csv")[0] == COLUMNS[name]
    assert rows_of(bare_report / f"{name}.csv") == [COLUMNS[name]]


def test_times_in_files_are_utc_with_z(report):
    head, *rows = rows_of(report / "episodes.csv")
    for name in ("raised", "cleared", "acknowledged"):
        cells = [row[head.index(name)] for row in rows]
        assert all(ISO_Z.fullmatch(cell) or not cell for cell in cells)
    assert any(not row[head.index("cleared")] for row in rows)  # one is still open


def test_fractions_of_a_second_are_kept():
    full = make_diagnosis(days=6, minutes=60)
    from alarmsift.report.csv_files import as_text  # noqa: PLC0415

    moved = full.episodes.assign(raised=full.episodes["raised"] + pd.Timedelta("0.25s"))
    assert as_text(moved)["raised"].iloc[0].endswith(".250000Z")


def test_row_numbers_are_whole(report):
    assert [row[1] for row in rows_of(report / "rejected_rows.csv")[1:]] == ["17", "40"]


def test_same_input_gives_same_bytes(diagnosis, report, tmp_path):
    again = write_report(make_diagnosis(), tmp_path / "elsewhere")
    for path in sorted(report.rglob("*")):
        if path.is_file():
            twin = again / path.relative_to(report)
            digest = [hashlib.sha256(one.read_bytes()).hexdigest() for one in (path, twin)]
            assert digest[0] == digest[1], path


def test_no_user_host_or_absolute_path_in_any_output(report):
    secrets = {str(report.parent), str(report.parent.parent)}
    # A short name such as "root" is a word of its own, and may stand in packed readings by chance.
    secrets |= {name for name in (getpass.getuser(), socket.gethostname()) if len(name) > 4}
    for path in report.rglob("*"):
        if path.is_file() and path.suffix != ".pdf":  # packed; test_report_pdf.py reads its text
            content = path.read_bytes()
            for secret in secrets:
                assert secret.encode() not in content, (path, secret)


def test_folder_carries_the_marker(report):
    assert marked(report)


@pytest.fixture(scope="module")
def schema():
    return json.loads(SCHEMA_PATH.read_text(encoding="utf-8"))


def test_json_obeys_the_schema_that_ships_with_the_package(schema, report, bare_report):
    jsonschema.Draft202012Validator.check_schema(schema)
    for folder in (report, bare_report):
        document = json.loads((folder / "diagnosis.json").read_text(encoding="utf-8"))
        jsonschema.validate(document, schema)


def test_changed_weights_are_in_json_and_on_every_page_and_nothing_without(
    schema, diagnosis, report, tmp_path
):
    change = names.WeightsChange("our <b>weights</b>.csv", 3)
    changed = dataclasses.replace(diagnosis, weights_change=change)
    out = write_report(changed, tmp_path / "own")
    document = json.loads((out / "diagnosis.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, schema)
    assert document["weights_change"] == {"file": "our <b>weights</b>.csv", "rows": 3}
    pages = [path.relative_to(out) for path in out.rglob("*.html")]
    assert len(pages) > 2 + len(diagnosis.points)
    for page in pages:
        text = (out / page).read_text(encoding="utf-8")
        assert "our &lt;b&gt;weights&lt;/b&gt;.csv: 3 rows differ" in text
        assert "Weights of evidence were changed" not in (report / page).read_text("utf-8")
    assert "our <b>weights</b>.csv: 3 rows differ" in " ".join(terminal.table(changed).split())
    assert "Weights of evidence" not in terminal.table(diagnosis)
    plain = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    assert plain["weights_change"] is None


def test_schema_refuses_an_unknown_cause_and_a_naive_time(schema, report):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    for key, wrong in (("cause", "ghost"), ("raised", "2026-03-01 00:00")):
        bad = json.loads(json.dumps(document))
        bad["episodes"][0][key] = wrong
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(bad, schema)


def test_json_holds_signs_with_source_rows_and_files_with_sha256(report, diagnosis):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    assert [one["episode"] for one in document["episodes"]] == list(diagnosis.episodes["episode"])
    first = document["episodes"][0]
    sign = first["signs"][0]
    assert first["rows"][sign["rows"]] == {
        "source_file": "readings.csv",
        "first_row": 1200,
        "last_row": 1450,
    }
    assert document["sign_titles"]["rise"] == "Shape of the rise"
    assert {len(file["sha256"]) for file in document["files"]} == {64}
    assert document["tool"]["version"]


def test_json_holds_every_sign_as_it_was_read(report, diagnosis):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    for episode in document["episodes"]:
        frame = diagnosis.signs(episode["episode"])
        told = frame[frame["answer"] != "no data"]
        assert episode["no_data"] == list(frame.loc[frame["answer"] == "no data", "sign"])
        assert len(episode["signs"]) == len(told)
        for sign, row in zip(episode["signs"], told.itertuples(), strict=True):
            assert (sign["sign"], sign["answer"]) == (row.sign, row.answer)
            assert document["sign_words"][sign["words"]] == row.words
            assert document["sign_titles"][row.sign] == row.title
            assert document["sign_units"][row.sign] == row.unit
            assert sign.get("speaks_for", "") == row.speaks_for
            for key in ("for_cause", "for_gas"):
                assert sign.get(key, 0.0) == pytest.approx(getattr(row, key), rel=1e-3)
            assert ("measure" in sign) == bool(np.isfinite(row.measure))


def test_json_survives_braces_and_quotes_in_a_sentence(tmp_path):
    full = make_diagnosis(days=6, minutes=60)
    words = 'odd "}, {" and \\ and ünïcode'
    odd = dataclasses.replace(full, episodes=full.episodes.assign(why=words))
    folder = write_report(odd, tmp_path / "r")
    document = json.loads((folder / "diagnosis.json").read_text(encoding="utf-8"))
    assert document["episodes"][0]["why"] == words


def test_parquet_tables_read_back_as_they_were(report, diagnosis):
    for name, table in TABLES.items():
        back = pd.read_parquet(report / "tables" / f"{name}.parquet")
        assert back.columns[: len(table.names)].tolist() == table.names
        pd.testing.assert_frame_equal(
            conform(back, table), getattr(diagnosis.logs, name), check_categorical=False
        )


def test_json_holds_the_record_and_what_came_of_each_finding(report):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    assert document["record"] == [
        {"cause": "gas", "confirmed": 1, "refuted": 0},
        {"cause": "spike", "confirmed": 0, "refuted": 1},
    ]
    assert [one["outcome"] for one in document["findings"]] == [
        "confirmed", "no_override", "refuted",
    ]  # fmt: skip


def test_json_holds_what_each_repair_did_and_when_each_detector_leaves_tolerance(report):
    document = json.loads((report / "diagnosis.json").read_text(encoding="utf-8"))
    assert [one["outcome"] for one in document["repairs"]] == [
        "came_back", "held", "too_early", "no_trouble",
    ]  # fmt: skip
    assert document["repairs"][0]["alarms_before"] == 8
    assert document["repairs"][2]["ratio_high"] is None  # no upper end
    assert document["detectors"][0]["crosses_low"] < document["detectors"][0]["crosses"]
    assert document["ledger"][1]["reference_true"] == 61.7647
