"""Whatever is done to a pack is found and named; what leads out of it is refused."""

from __future__ import annotations

import random
import shutil
from pathlib import Path

import pytest

from alarmsift.errors import InputError
from alarmsift.incident.check import verify_pack

TRIALS = 200
LINKS = "a link, not a file"


def test_a_pack_as_sealed_is_whole(sealed: Path):
    check = verify_pack(sealed)
    assert check.whole
    assert "data/sources/readings.csv" in check.intact
    assert "tagmanifest-sha512.txt" in check.intact


def test_200_random_tamperings_are_all_found_and_named(pack: Path):
    luck = random.Random(8493)
    files = sorted(path for path in pack.rglob("*") if path.is_file())
    done = dict.fromkeys((change_byte, rename, delete, add), 0)
    for _ in range(TRIALS):
        file, act = luck.choice(files), luck.choice(list(done))
        name, undo = act(file, luck)
        try:
            check = verify_pack(pack)
        except InputError as refused:  # a byte in a manifest can make a way out of it
            assert act is change_byte
            assert file.name in str(refused)
        else:
            assert not check.whole, (act.__name__, name)
            named = {*check.changed, *check.missing, *check.added}
            wanted = {one.relative_to(pack).as_posix() for one in name}
            assert wanted <= named, (act.__name__, wanted, named)
            assert len(named) <= len(wanted), (act.__name__, wanted, named)
        undo()
        done[act] += 1
    assert min(done.values()) > 30
    assert verify_pack(pack).whole


def change_byte(file: Path, luck: random.Random):
    data = file.read_bytes()
    place, by = luck.randrange(len(data)), luck.randrange(1, 256)
    file.write_bytes(data[:place] + bytes([data[place] ^ by]) + data[place + 1 :])
    return [file], lambda: file.write_bytes(data)


def rename(file: Path, luck: random.Random):
    other = file.with_name(f"{luck.randrange(10**6)}-{file.name}")
    file.rename(other)
    return [file, other], lambda: other.rename(file)


def delete(file: Path, luck: random.Random):
    data = file.read_bytes()
    file.unlink()
    return [file], lambda: file.write_bytes(data)


def add(file: Path, luck: random.Random):
    other = file.with_name(f"{luck.randrange(10**6)}.csv")
    other.write_bytes(luck.randbytes(luck.randrange(40)))
    return [other], other.unlink


def test_an_empty_folder_is_an_addition(pack: Path):
    (pack / "data" / "more").mkdir()
    assert verify_pack(pack).added == ("data/more/",)


def test_another_letter_case_in_a_digest_is_a_change_too(pack: Path):
    file = pack / "tagmanifest-sha256.txt"
    file.write_bytes(file.read_bytes()[:64].upper() + file.read_bytes()[64:])
    assert verify_pack(pack).changed == ("tagmanifest-sha256.txt",)


@pytest.mark.parametrize("manifest", ["manifest-sha256.txt", "tagmanifest-sha512.txt"])
@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd",
        "../outside.csv",
        "data/../../outside.csv",
        "data\\..\\..\\outside.csv",
        "C:\\outside.csv",
        "C:outside.csv",
        "\\\\host\\share\\outside.csv",
        "~/outside.csv",
    ],
)
def test_a_manifest_that_leads_out_of_the_pack_is_refused(pack: Path, manifest: str, name: str):
    file = pack / manifest
    digits = 64 if "256" in manifest else 128
    file.write_bytes(file.read_bytes() + f"{'0' * digits}  {name}\n".encode())
    with pytest.raises(InputError, match="a path out of the pack"):
        verify_pack(pack)


def _link(place: Path, target: Path, *, folder: bool = False) -> None:
    try:
        place.symlink_to(target, target_is_directory=folder)
    except OSError:  # Windows lets only some users make links
        pytest.skip("this system lets us make no links")


def test_a_link_to_a_file_is_refused_even_if_its_content_fits(pack: Path, tmp_path: Path):
    file = pack / "data" / "sources" / "events.csv"
    shutil.move(file, tmp_path / "events.csv")
    _link(file, tmp_path / "events.csv")
    with pytest.raises(InputError, match=LINKS):
        verify_pack(pack)


def test_a_link_to_a_folder_is_refused(pack: Path, tmp_path: Path):
    shutil.move(pack / "data" / "tables", tmp_path / "tables")
    _link(pack / "data" / "tables", tmp_path / "tables", folder=True)
    with pytest.raises(InputError, match=LINKS):
        verify_pack(pack)


def test_what_is_no_pack_is_told(tmp_path: Path):
    with pytest.raises(InputError, match="no evidence pack"):
        verify_pack(tmp_path)
    with pytest.raises(InputError, match="no folder 'nowhere'"):
        verify_pack(tmp_path / "nowhere")
