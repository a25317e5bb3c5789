"""A pack's manifests as they must stand, and its files, with every path trick refused."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from alarmsift.errors import InputError

LENGTHS = {"sha256": 64, "sha512": 128}
PAYLOAD = {name: f"manifest-{name}.txt" for name in LENGTHS}
TAGS = {name: f"tagmanifest-{name}.txt" for name in LENGTHS}
_MEND = "Don't open it; ask the sender for another, and where this one came from."
_BLOCK = 1 << 20


@dataclass(frozen=True)
class Manifest:
    """One manifest: ``entries`` (name to digest), and whether every line is as it must be."""

    file: str
    entries: dict[str, str]
    clean: bool


def read_manifest(pack: Path, file: str, algorithm: str) -> Manifest:
    """Return a manifest; one that is not there has no entries and is not clean.

    Raises
    ------
    InputError
        When a name in it leads out of the pack.
    """
    path = pack / file
    if not path.is_file():
        return Manifest(file, {}, clean=False)
    text = path.read_bytes().decode("utf-8", "replace")
    form = re.compile(rf"([0-9a-f]{{{LENGTHS[algorithm]}}})  (\S(?:[^\r\n]*\S)?)")
    clean, entries = text.endswith("\n"), {}
    for line in text.split("\n")[:-1] if clean else text.split("\n"):
        name = line.split(maxsplit=1)[1] if len(line.split(maxsplit=1)) == 2 else ""
        _refuse_way_out(name, file)
        fits = form.fullmatch(line)
        if fits is None or fits[2] in entries:
            clean = False
        else:
            entries[fits[2]] = fits[1]
    return Manifest(file, entries, clean)


def _refuse_way_out(name: str, file: str) -> None:
    windows = PureWindowsPath(name)
    bad = (
        name.startswith(("/", "\\", "~"))
        or bool(windows.drive)
        or ".." in windows.parts
        or ".." in PurePosixPath(name).parts
        or "\x00" in name
    )
    if bad:
        raise InputError(f"names '{name}', a path out of the pack.", file=file, mend=_MEND)


def files_of(pack: Path) -> list[str]:
    """Return every file of the pack by name, and every empty folder with a slash behind, sorted.

    Raises
    ------
    InputError
        When there is a link or anything else that is neither file nor folder.
    """
    out = []
    for here, folders, files in os.walk(pack):
        for name in [*folders, *files]:
            _refuse_link(Path(here) / name, pack)
        place = Path(here).relative_to(pack)
        out += [(place / name).as_posix() for name in files]
        if not folders and not files and place.parts:
            out.append(place.as_posix() + "/")
    return sorted(out)


def _refuse_link(path: Path, pack: Path) -> None:
    name = path.relative_to(pack).as_posix()
    mode = path.lstat().st_mode
    junction = bool(getattr(path.lstat(), "st_file_attributes", 0) & 0x400)  # a reparse point
    if stat.S_ISLNK(mode) or junction:
        raise InputError(f"'{name}' in the pack is a link, not a file.", mend=_MEND)
    if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
        raise InputError(f"'{name}' in the pack is neither a file nor a folder.", mend=_MEND)


def digests(path: Path) -> dict[str, str]:
    """Return the digests of a file, by algorithm."""
    made = {name: hashlib.new(name) for name in LENGTHS}
    with path.open("rb") as file:
        while block := file.read(_BLOCK):
            for one in made.values():
                one.update(block)
    return {name: one.hexdigest() for name, one in made.items()}
