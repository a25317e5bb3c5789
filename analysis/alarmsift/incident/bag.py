"""Seals a folder as a BagIt bag (RFC 8493) by the common library, with the same bytes every time.

The library writes version 0.97 into ``bagit.txt``. What it writes beside is also what 1.0 asks for
(every payload file in every manifest, no file name that the two would write differently: see
``alarmsift.incident.sources``), so the line says 1.0, the version of the RFC. It also writes the
day of the bagging, by which two runs would differ; RFC 8493, 2.2.2, leaves it to us, and a day
written by the packing computer proves nothing: the letter or the signature that goes with the
pack does.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import bagit

from alarmsift.report.json_file import tool_version

VERSION_LINES = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
ALGORITHMS = ("sha256", "sha512")
DAY = "Bagging-Date"
SIGNED_WITH = "Signed-With-Ed25519-Public-Key"


def seal(payload: Path, pack: Path, info: dict[str, str]) -> None:
    """Make ``pack`` a bag whose payload is the content of ``payload``, a folder inside it.

    Files that already stand in ``pack`` become tag files and are covered by the tag manifests.
    """
    with quiet():
        bagit.make_bag(
            str(payload),
            {**info, DAY: "", "Bag-Software-Agent": f"alarmsift {tool_version()}"},
            checksums=list(ALGORITHMS),
        )
        for one in sorted(payload.iterdir()):
            one.rename(pack / one.name)
        payload.rmdir()
        (pack / "bagit.txt").write_text(VERSION_LINES, encoding="utf-8", newline="\n")
        bag = bagit.Bag(str(pack))
        del bag.info[DAY]
        bag.save()
    for name in ALGORITHMS:
        _put_in_order(pack / f"tagmanifest-{name}.txt")


def _put_in_order(manifest: Path) -> None:
    """Sort a tag manifest, which the library writes in the order in which the disk lists files.

    Two spaces, as in the other manifests, let ``sha256sum -c`` read it as well.
    """
    pairs = [line.split(maxsplit=1) for line in manifest.read_text(encoding="utf-8").splitlines()]
    text = "".join(f"{digest}  {name}\n" for digest, name in sorted(pairs, key=lambda p: p[1]))
    manifest.write_text(text, encoding="utf-8", newline="\n")


@contextmanager
def quiet() -> Iterator[None]:
    """Keep the library from writing what it does, with whole paths, to the terminal."""
    log = logging.getLogger("bagit")
    before = log.disabled
    log.disabled = True
    try:
        yield
    finally:
        log.disabled = before
