"""What of a pack is intact, changed, missing or added, by name."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import bagit

from alarmsift.errors import InputError
from alarmsift.incident import signature
from alarmsift.incident.bag import SIGNED_WITH, quiet
from alarmsift.incident.manifests import (
    PAYLOAD,
    TAGS,
    Manifest,
    digests,
    files_of,
    read_manifest,
)
from alarmsift.tables.marker import MARKER

NEEDED = ("bagit.txt", "bag-info.txt", "README.txt", MARKER, *PAYLOAD.values(), *TAGS.values())


@dataclass(frozen=True)
class PackCheck:
    """The outcome of :func:`verify_pack`; names are relative to the pack.

    Attributes
    ----------
    intact, changed, missing, added : tuple of str
    signature : str
        ``none``, ``good``, ``bad`` or ``not checked`` (the library is missing).
    signed_by : str
        SHA-256 of the public key; blank when not signed.
    objections : tuple of str
        What the common BagIt library says against a pack that is intact by the above.
    """

    intact: tuple[str, ...]
    changed: tuple[str, ...]
    missing: tuple[str, ...]
    added: tuple[str, ...]
    signature: str = "none"
    signed_by: str = ""
    objections: tuple[str, ...] = ()

    @property
    def whole(self) -> bool:
        """Whether nothing was found against the pack."""
        wrong = self.changed or self.missing or self.added or self.objections
        return not wrong and self.signature != "bad"


@dataclass
class _Findings:
    intact: set[str] = field(default_factory=set)
    changed: set[str] = field(default_factory=set)
    missing: set[str] = field(default_factory=set)


def verify_pack(folder: Path | str) -> PackCheck:
    """Check an evidence pack against its manifests; nothing is written.

    Parameters
    ----------
    folder : Path or str
        The pack.

    Returns
    -------
    PackCheck

    Raises
    ------
    InputError
        When it is no pack, or holds a link or a name that leads out of it.
    """
    pack = Path(folder)
    if pack.is_symlink() or not pack.is_dir():
        raise InputError(f"there is no folder '{pack.name}'.", mend="Give the folder of the pack.")
    there = files_of(pack)
    if not {"bagit.txt", *PAYLOAD.values(), *TAGS.values()} & set(there):
        raise InputError(
            f"'{pack.name}' is no evidence pack: it holds neither bagit.txt nor manifests.",
            mend="Give the folder that 'alarmsift incident' wrote.",
        )
    found = _Findings(missing={name for name in NEEDED if name not in there})
    tags = _read(pack, TAGS)
    payload = _read(pack, PAYLOAD)
    _compare(pack, there, tags, found)
    _compare(pack, there, payload, found)
    signed, by = _signature(pack, there, found)
    listed = {name for one in [*tags.values(), *payload.values()] for name in one.entries}
    added = [name for name in there if name not in {*listed, *NEEDED, signature.SIGNATURE_FILE}]
    if signed == "none" and signature.SIGNATURE_FILE in there:
        added.append(signature.SIGNATURE_FILE)
    found.intact -= found.changed | found.missing
    quiet_so_far = not (found.changed or found.missing or added)
    return PackCheck(
        intact=tuple(sorted(found.intact)),
        changed=tuple(sorted(found.changed - found.missing)),
        missing=tuple(sorted(found.missing)),
        added=tuple(sorted(added)),
        signature=signed,
        signed_by=by,
        objections=_second_opinion(pack) if quiet_so_far else (),
    )


def _read(pack: Path, files: dict[str, str]) -> dict[str, Manifest]:
    return {name: read_manifest(pack, file, name) for name, file in files.items()}


def _compare(
    pack: Path, there: list[str], manifests: dict[str, Manifest], found: _Findings
) -> None:
    """Compare the files of both manifests, which bear each other out.

    A file that fits one of them is intact, and the other one was changed. A name that one alone
    has, and no file bears, is a change of that manifest.
    """
    standing = {name: one for name, one in manifests.items() if one.file in there}
    for one in standing.values():
        found.intact.add(one.file)
        if not one.clean:
            found.changed.add(one.file)
    present = set(there)
    for name in sorted({entry for one in standing.values() for entry in one.entries}):
        without = {one.file for one in standing.values() if name not in one.entries}
        if name not in present:
            if without:
                found.changed |= {one.file for one in standing.values() if name in one.entries}
            else:
                found.missing.add(name)
            continue
        real = digests(pack / name)
        wrong = {one.file for key, one in standing.items() if one.entries.get(name) != real[key]}
        if len(wrong) < len(standing):
            found.intact.add(name)
            found.changed |= wrong
        else:
            found.changed.add(name)


def _signature(pack: Path, there: list[str], found: _Findings) -> tuple[str, str]:
    """Return how the signature stands, and by whose key; bag-info.txt says whether it must."""
    public = _signed_with(pack)
    if not public:
        return "none", ""
    if signature.SIGNATURE_FILE not in there:
        found.missing.add(signature.SIGNATURE_FILE)
        return "bad", ""
    try:
        by = signature.fingerprint(public)
        good = signature.holds(pack, public)
    except InputError:
        return "not checked", by
    except ValueError:
        return "bad", ""
    if good:
        found.intact.add(signature.SIGNATURE_FILE)
        return "good", by
    if not (found.changed or found.missing):
        found.changed.add(signature.SIGNATURE_FILE)
    return "bad", by


def _signed_with(pack: Path) -> str:
    path = pack / "bag-info.txt"
    if not path.is_file():
        return ""
    for line in path.read_bytes().decode("utf-8", "replace").splitlines():
        name, _, value = line.partition(":")
        if name == SIGNED_WITH:
            return value.strip()
    return ""


def _second_opinion(pack: Path) -> tuple[str, ...]:
    with quiet():
        try:
            bagit.Bag(str(pack)).validate()
        except bagit.BagError as error:
            return (str(error).replace(str(pack.resolve()), pack.name),)
    return ()
