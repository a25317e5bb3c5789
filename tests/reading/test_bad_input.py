from __future__ import annotations

import gzip

import pytest

from alarmsift.errors import InputError
from alarmsift.reading.folder import read_logs
from alarmsift.tables.marker import mark
from tests.reading.conftest import HEADER, Read, line

GOOD = HEADER + "".join(line(i) for i in range(0, 50, 5))


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({}, "holds no .csv"),
        ({"a.docx": b"PK\x03\x04"}, "only a.docx"),
        ({"a.xlsx": b"PK\x03\x04"}, "a.xlsx was not used: it is damaged"),
        ({"a.csv": b""}, "a.csv was not used: it is empty"),
        ({"a.csv": HEADER}, "a header but no rows"),
        ({"a.csv": bytes(range(256)) * 50}, "binary data"),
        ({"a.csv": b"PK\x03\x04" + b"x" * 100}, "spreadsheet"),
        ({"a.parquet": b"PAR1nonsense"}, "damaged"),
        ({"a.csv.gz": gzip.compress(GOOD.encode())[:-9]}, "can't be unpacked"),
        ({"a.csv": "foo,bar\n1,2\n"}, "'foo', 'bar'"),
        ({"points.csv": "point,space\nP,S\n"}, "neither readings nor events, only points"),
        ({"a.csv": HEADER + "a,b,c,d,e,f,g,h\n"}, "no row could be used"),
    ],
)
def test_nothing_to_read_is_one_clear_message(read: Read, files: dict, words: str) -> None:
    with pytest.raises(InputError) as told:
        read(files)
    assert words in str(told.value)
    assert "/" not in str(told.value).replace("/m3", "")  # no path of this computer


def test_a_missing_folder_is_named_without_its_path(tmp_path) -> None:
    with pytest.raises(InputError, match="there is no folder 'nowhere'"):
        read_logs(tmp_path / "nowhere")


def test_a_file_in_place_of_the_folder_is_refused(tmp_path) -> None:
    (tmp_path / "a.csv").write_text(GOOD, encoding="utf-8")
    with pytest.raises(InputError, match="is a file"):
        read_logs(tmp_path / "a.csv")


def test_a_folder_that_alarmsift_wrote_is_no_log_folder(tmp_path) -> None:
    mark(tmp_path, "report")
    with pytest.raises(InputError, match="alarmsift wrote"):
        read_logs(tmp_path)


@pytest.mark.parametrize(
    "odd",
    [b"", b"\x89PNG\r\n\x1a\n", b"hello\n", b"\xff\xfe\x00", b'"', b",,,\n,,,\n", b"\x00" * 99],
)
def test_one_bad_file_among_good_ones_is_a_warning(read: Read, odd: bytes) -> None:
    logs = read({"good.csv": GOOD, "odd.csv": odd})
    assert len(logs.readings) == 10
    assert logs.ledger.files["table"].tolist() == ["readings", ""]
    assert any(w.startswith("odd.csv was not used") for w in logs.ledger.warnings)


@pytest.mark.parametrize("cut", range(1, 55, 3))
def test_a_truncated_last_line_loses_at_most_itself(read: Read, cut: int) -> None:
    last = line(55).strip()
    logs = read({"a.csv": GOOD + last[:cut]})
    assert logs.ledger.files["rows_read"].tolist() == [11]
    assert len(logs.readings) >= 10


@pytest.mark.parametrize("junk", ["", "???", "\x00", '"', ",", "é", "-", "1e999", "\\", "'", "\t"])
def test_garbage_in_any_column_is_counted_and_nothing_else_is_lost(read: Read, junk: str) -> None:
    names = ["time", "point", "gas", "value", "unit", "status", "flow", "suction"]
    rows = "".join(line(60 + i, **{name: junk}) for i, name in enumerate(names))
    logs = read({"a.csv": GOOD + rows})
    assert logs.ledger.files["rows_read"].tolist() == [18]
    assert set(range(2, 12)) <= set(logs.readings["source_row"])
    assert len(logs.ledger.rejected["row"].unique()) >= logs.ledger.files["rejected"].sum()


def test_a_point_that_occurs_once_is_kept(read: Read) -> None:
    logs = read({"a.csv": GOOD + line(55, point="Lone")})
    assert "Lone" in logs.readings["point"].tolist()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(read: Read, encoding: str, ends: str) -> None:
    text = GOOD.replace("BT1P", "Piqué avant")
    logs = read({"a.csv": text.replace("\n", ends).encode(encoding)})
    assert set(logs.readings["point"]) == {"Piqué avant"}
    assert logs.readings["source_row"].tolist() == list(range(2, 12))
