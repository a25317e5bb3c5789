"""The pack: a bag that other tools can check, the same bytes every time, and nobody's name."""

from __future__ import annotations

import getpass
import hashlib
import json
import socket
from pathlib import Path

import bagit
import pytest

from alarmsift.errors import InputError, OutputError
from alarmsift.incident.check import verify_pack
from alarmsift.incident.manifests import digests
from alarmsift.incident.pack import PackOptions, pack_incident
from alarmsift.incident.rerun import rerun_pack
from alarmsift.reading.folder import read_logs
from tests.incident.night import END, START, write_night


def contents(pack: Path) -> dict[str, bytes]:
    files = sorted(path for path in pack.rglob("*") if path.is_file())
    return {path.relative_to(pack).as_posix(): path.read_bytes() for path in files}


def reseal(pack: Path) -> None:
    """Do what somebody would who alters a file and writes all manifests anew."""
    bagit.Bag(str(pack)).save(manifests=True)
    for name in ("tagmanifest-sha256.txt", "tagmanifest-sha512.txt"):
        lines = [line.split() for line in (pack / name).read_text(encoding="utf-8").splitlines()]
        text = "".join(f"{digest}  {file}\n" for digest, file in lines)
        (pack / name).write_text(text, encoding="utf-8", newline="\n")


def test_digests_are_those_of_the_standard(tmp_path: Path):
    """FIPS 180-4, the example "abc" of both functions (from memory of the published values)."""
    (tmp_path / "abc").write_bytes(b"abc")
    made = digests(tmp_path / "abc")
    assert made["sha256"] == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert made["sha512"].startswith("ddaf35a193617abacc417349ae204131")


def test_the_pack_is_a_bag_of_rfc_8493(sealed: Path):
    """RFC 8493: 2.1.1 (declaration), 2.1.3 (every payload file in every manifest), 2.2.2 (Oxum)."""
    declared = (sealed / "bagit.txt").read_text(encoding="utf-8")
    assert declared == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    payload = {name: data for name, data in contents(sealed).items() if name.startswith("data/")}
    for algorithm in ("sha256", "sha512"):
        lines = (sealed / f"manifest-{algorithm}.txt").read_text(encoding="utf-8").splitlines()
        listed = {name: digest for digest, name in (line.split("  ", 1) for line in lines)}
        assert listed == {
            n: hashlib.new(algorithm, data).hexdigest() for n, data in payload.items()
        }
    bag = bagit.Bag(str(sealed))
    assert bag.version_info == (1, 0)
    size = sum(len(data) for data in payload.values())
    assert bag.info["Payload-Oxum"] == f"{size}.{len(payload)}"
    assert "Bagging-Date" not in bag.info
    bag.validate()


def test_sources_are_exact_copies(sealed: Path, night: Path):
    held = contents(sealed / "data" / "sources")
    assert held == contents(night)


def test_two_runs_give_the_same_bytes(sealed: Path, night: Path, tmp_path: Path):
    again = pack_incident(read_logs(night), START, END, tmp_path / "elsewhere" / "again")
    assert contents(again) == contents(sealed)


def test_no_user_host_or_path_stands_in_it(sealed: Path, night: Path):
    for name, data in contents(sealed).items():
        for word in (str(night), str(Path.cwd()), str(Path.home()) + "/", socket.gethostname()):
            assert word.encode() not in data, (name, word)
        user = getpass.getuser()
        assert f"/{user}/".encode() not in data


def test_a_rerun_agrees_with_the_pack(sealed: Path):
    again = rerun_pack(sealed)
    assert again.different == ()
    assert "data/tables/timeline.csv" in again.same
    assert "data/report/index.html" in again.same


def test_a_rerun_finds_a_source_altered_and_sealed_again(pack: Path):
    file = pack / "data" / "sources" / "events.csv"
    text = file.read_text(encoding="utf-8").replace("T07:31:00Z", "T07:27:00Z")
    file.write_text(text, encoding="utf-8", newline="\n")
    reseal(pack)
    assert verify_pack(pack).whole  # the manifests alone can't show it
    wrong = [words.split(" ")[0] for words in rerun_pack(pack).different]
    assert {"data/tables/timeline.csv", "data/tables/responses.csv"} <= set(wrong)


def test_the_one_who_receives_it_is_told_how_to_check(sealed: Path):
    text = (sealed / "README.txt").read_text(encoding="utf-8")
    for words in ("alarmsift verify", "RFC 8493", "sha256sum -c", "not signed", "Plain Example"):
        assert words in text


def test_a_log_folder_is_never_replaced(night: Path):
    with pytest.raises(OutputError, match="the log folder itself"):
        pack_incident(night, START, END, night)


def test_a_name_that_a_manifest_cannot_carry_is_refused(tmp_path: Path):
    logs = write_night(tmp_path / "logs")
    (logs / "events.csv").rename(logs / "100%.csv")
    with pytest.raises(InputError, match="per cent sign"):
        pack_incident(logs, START, END, tmp_path / "pack")
    assert not (tmp_path / "pack").exists()


def test_text_left_out_is_nowhere_in_the_pack(night: Path, tmp_path: Path):
    options = PackOptions(leave_out=("text", "note"))
    pack = pack_incident(night, START, END, tmp_path / "pack", options=options)
    for name, data in contents(pack).items():
        for word in (b"Mr Example", b"late one", b"hose seven", b"blower", b"second look"):
            assert word not in data, name
    page = (pack / "data" / "report" / "index.html").read_text(encoding="utf-8")
    assert "Columns were left out of the source files: note, text" in page
    rows = (pack / "data" / "sources.csv").read_text(encoding="utf-8").splitlines()
    original = hashlib.sha256((night / "events.csv").read_bytes()).hexdigest()
    assert any(row.startswith("events.csv,") and f",{original},text" in row for row in rows)
    assert verify_pack(pack).whole
    assert rerun_pack(pack).different == ()


def test_rows_keep_their_line_numbers_when_a_note_of_two_lines_is_left_out(
    night: Path, sealed: Path, tmp_path: Path
):
    options = PackOptions(leave_out=("operations.note",))
    pack = pack_incident(night, START, END, tmp_path / "pack", options=options)
    for name in ("responses.csv", "points.csv"):
        assert (pack / "data" / "tables" / name).read_bytes() == (
            sealed / "data" / "tables" / name
        ).read_bytes()
    assert "seen by Mr Example" in (pack / "data" / "sources" / "findings.csv").read_text("utf-8")


def test_a_column_that_no_file_has_is_refused_with_those_that_can_be(night: Path, tmp_path: Path):
    options = PackOptions(leave_out=("remarks",))
    with pytest.raises(InputError, match=r"events\.text.*findings\.note.*operations\.note"):
        pack_incident(night, START, END, tmp_path / "pack", options=options)


def test_rows_that_could_not_be_used_are_told(tmp_path: Path):
    logs = write_night(tmp_path / "logs")
    with (logs / "operations.csv").open("a", encoding="utf-8", newline="\n") as file:
        file.write("no time,resample,WBT 1S,,,,,\n")
    pack = pack_incident(logs, START, END, tmp_path / "pack")
    refused = (pack / "data" / "tables" / "refused.csv").read_text(encoding="utf-8").splitlines()
    assert refused[1].startswith("operations.csv,10,")
    page = (pack / "data" / "report" / "index.html").read_text(encoding="utf-8")
    assert "could not be used: 1." in page


def test_settings_say_what_was_asked(sealed: Path):
    said = json.loads((sealed / "data" / "settings.json").read_text(encoding="utf-8"))
    assert said["from"] == "2026-03-02T05:00:00Z"
    assert said["as_known_at"] is None
    versions = json.loads((sealed / "data" / "versions.json").read_text(encoding="utf-8"))
    assert {"alarmsift", "python", "pandas", "bagit"} <= set(versions)
