from __future__ import annotations

import hashlib

import pytest

from tests.reading.conftest import HEADER, Read, line


def _reasons(logs) -> list[tuple[int, str, str]]:
    rejected = logs.ledger.rejected
    return list(zip(rejected["row"], rejected["column"], rejected["text"], strict=True))


def test_a_bad_cell_in_an_optional_column_costs_only_itself(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5, flow="2.o", status="perhaps")})
    assert len(logs.readings) == 2
    assert _reasons(logs) == [(3, "status", "perhaps"), (3, "flow", "2.o")]
    assert logs.ledger.rejected["reason"].str.endswith("the row was kept").all()
    assert logs.ledger.files["cells_refused"].tolist() == [2]
    assert logs.readings["flow"].isna().tolist() == [False, True]


@pytest.mark.parametrize(
    ("column", "text"),
    [("time", "yesterday"), ("time", ""), ("point", " "), ("gas", "NH3"), ("value", "1.O")],
)
def test_a_bad_cell_in_a_must_column_costs_the_row(read: Read, column: str, text: str) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5, **{column: text})})
    assert len(logs.readings) == 1
    assert _reasons(logs) == [(3, column, text.strip())]
    assert logs.ledger.files["rejected"].tolist() == [1]


def test_value_may_be_blank_when_the_status_is_not_ok(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0, value="", status="fault") + line(5, value="")})
    assert logs.readings["status"].tolist() == ["fault"]
    assert _reasons(logs) == [(3, "value", "")]


def test_a_number_with_status_fault_is_kept(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0, value="55", status="Fault")})
    assert logs.readings[["value", "status"]].values.tolist() == [[55.0, "fault"]]


@pytest.mark.parametrize(
    ("text", "status"),
    [("<0.1", "under_range"), ("OVR", "over_range"), ("+++", "over_range"), ("---", "not_sampled"),
     ("n/a", "not_sampled"), ("FAIL", "fault"), ("DISC", "not_sampled"), ("CAL", "test")],
)  # fmt: skip
def test_a_word_in_place_of_the_number_is_a_status(read: Read, text: str, status: str) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5, value=text)})
    assert logs.readings["status"].tolist() == ["ok", status]
    assert logs.readings["value"].isna().tolist() == [False, True]


def test_over_a_bound_keeps_the_bound_with_its_status(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(5, value=">100")})
    assert logs.readings[["value", "status"]].values.tolist() == [[100.0, "over_range"]]


def test_a_missing_value_mark_is_no_measurement(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5, value="-999")})
    assert logs.readings["status"].tolist() == ["ok", "fault"]
    assert any("-999" in warning for warning in logs.ledger.warnings)


def test_equal_values_are_no_duplicates_but_equal_rows_are(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5) + line(5) + line(10)})
    assert logs.readings["source_row"].tolist() == [2, 3, 5]
    assert logs.ledger.files["duplicates"].tolist() == [1]


def test_overlapping_files_count_a_row_once(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0) + line(5), "b.csv": HEADER + line(5) + line(10)})
    assert len(logs.readings) == 3
    assert logs.ledger.files["duplicates"].tolist() == [0, 1]


def test_identical_rows_are_kept_where_times_have_only_minutes(read: Read) -> None:
    row = line(5).replace(":00Z", "Z")
    logs = read({"a.csv": HEADER + row + row, "b.csv": HEADER + row + row + row})
    assert len(logs.readings) == 3
    assert logs.ledger.files["duplicates"].tolist() == [0, 2]


def test_another_value_for_the_same_moment_is_a_conflict_and_both_stay(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0), "b.csv": HEADER + line(0, value="7.5")})
    assert sorted(logs.readings["value"]) == [1.0, 7.5]
    conflict = logs.ledger.conflicts.iloc[0]
    assert (conflict["file"], conflict["row"], conflict["text"]) == ("b.csv", 2, "7.5")
    assert "a.csv row 2" in conflict["reason"]


def test_two_analysers_at_one_moment_are_no_conflict(read: Read) -> None:
    head = HEADER.replace("\n", ",analyser\n")
    rows = [line(0, value=v).strip() + f",{a}\n" for v, a in (("1.0", "A"), ("2.0", "B"))]
    assert len(read({"a.csv": head + "".join(rows)}).ledger.conflicts) == 0


def test_line_numbers_are_those_of_a_text_editor(read: Read) -> None:
    events = (
        "time,point,event,state,text\n"
        '2026-01-01T00:00:00Z,P,alarm,raised,"two\nlines"\n'
        "\n"
        "2026-01-01T00:05:00Z,P,alarm,vanished,odd\n"
        "2026-01-01T00:06:00Z,P,alarm,cleared,as, it was\n"
    )
    logs = read({"e.csv": events})
    assert logs.events["source_row"].tolist() == [2, 6]
    assert logs.events["text"].tolist() == ["two lines", "as, it was"]
    assert _reasons(logs) == [(5, "state", "vanished")]


def test_rows_with_too_many_or_too_few_cells_are_refused(read: Read) -> None:
    logs = read({"a.csv": HEADER + line(0) + "1,2,3\n" + line(5).strip() + ",9,9\n" + line(10)})
    assert logs.readings["source_row"].tolist() == [2, 5]
    assert logs.ledger.rejected["row"].tolist() == [3, 4]
    assert "3 cells where the header has 8" in logs.ledger.rejected["reason"].tolist()


def test_a_stray_quote_mark_swallows_no_row(read: Read) -> None:
    rows = line(0, point='"BT1P') + line(5) + line(10, point='"BT1P') + line(15, point='BT"1P')
    logs = read({"a.csv": HEADER + rows})
    assert logs.readings["source_row"].tolist() == [2, 3, 4, 5]


def test_every_file_bears_its_sha256(read: Read) -> None:
    text = HEADER + line(0)
    logs = read({"a.csv": text, "b.csv": b"\x00\x01\x02" * 50})
    assert logs.ledger.files["sha256"].tolist() == [
        hashlib.sha256(text.encode()).hexdigest(),
        hashlib.sha256(b"\x00\x01\x02" * 50).hexdigest(),
    ]
    assert logs.ledger.files["table"].tolist() == ["readings", ""]
    assert any("b.csv" in warning for warning in logs.ledger.warnings)


def test_names_in_only_one_table_are_listed_and_never_joined(read: Read) -> None:
    events = "time,point,event,state\n2026-01-01T00:00:00Z,BT-1P,alarm,raised\n"
    logs = read({"a.csv": HEADER + line(0), "e.csv": events})
    assert logs.events["point"].tolist() == ["BT-1P"]
    assert any("'BT-1P' (nearest: 'BT1P')" in warning for warning in logs.ledger.warnings)


def test_an_alias_joins_the_alarm_lists_name(read: Read) -> None:
    events = "time,point,event,state\n2026-01-01T00:00:00Z,TANK 1,alarm,raised\n"
    site = '[aliases]\n"TANK 1" = "BT1P"\n'
    logs = read({"a.csv": HEADER + line(0), "e.csv": events, "site.toml": site})
    assert logs.events["point"].tolist() == ["BT1P"]
    assert logs.ledger.warnings == ()


def test_a_point_described_twice_is_used_once_and_listed(read: Read) -> None:
    points = "point,space,kind\nBT1P,WBT 1,ballast\nBT1P,WBT 1,void\n"
    logs = read({"a.csv": HEADER + line(0), "p.csv": points})
    assert logs.points["kind"].tolist() == ["ballast"]
    assert logs.ledger.conflicts["column"].tolist() == ["kind"]


def test_a_contradiction_needs_no_column_that_the_file_lacks(read: Read) -> None:
    events = "time,point,event,state\n" + "2026-01-01T00:00Z,BT1P,alarm,raised\n" * 2
    ops = "time,action\n2026-01-01T00:00Z,purge\n2026-01-01T00:00Z,purge\n"
    logs = read({"a.csv": HEADER + line(0), "e.csv": events, "o.csv": ops})
    assert len(logs.ledger.conflicts) == 0
    assert (len(logs.events), len(logs.operations)) == (2, 2)  # minutes only: all are kept
