"""What lies in a log folder: which files to try, and their bytes."""

from __future__ import annotations

import gzip
import hashlib
import os
import zlib
from dataclasses import dataclass
from pathlib import Path

from alarmsift.errors import InputError
from alarmsift.tables.marker import marked

SITE_FILE = "site.toml"
TEXT_ENDINGS = (".csv", ".csv.gz", ".tsv", ".tsv.gz", ".txt", ".txt.gz")
PARQUET_ENDING = ".parquet"
SHEET_ENDINGS = (".xlsx", ".xlsm", ".ods")

# First bytes of files that are no text, with the words for the user (formats' own definitions).
_MAGIC = (
    (b"PK\x03\x04", "is a spreadsheet or archive, not a CSV file; save it as CSV"),
    (b"\xd0\xcf\x11\xe0", "is an old spreadsheet or document, not a CSV file; save it as CSV"),
    (b"%PDF", "is a PDF document, not a CSV file"),
    (b"\x89PNG", "is a picture, not a CSV file"),
    (b"\xff\xd8\xff", "is a picture, not a CSV file"),
    (b"SQLite format 3", "is a database, not a CSV file; export its tables as CSV"),
    (b"PAR1", "is a parquet file under another name; rename it to .parquet"),
    (b"\x1f\x8b", "is compressed; rename it to .csv.gz"),
)

_OWN = (PARQUET_ENDING, *SHEET_ENDINGS)  # endings of files that are no text, and needn't be
_BLANKS = b"\x00 \t\r\n"
_HEAD = 4096  # bytes; looked at first, so that a large file isn't copied for nothing


class Unusable(Exception):  # noqa: N818  (a finding about one file, not a failure of the run)
    """One file can't be used; the others may be. The message completes 'FILE ...'."""


def fingerprint(path: Path) -> tuple[int, str]:
    """Return size [bytes] and SHA-256 of a file as it is on disk; zero and blank if unreadable."""
    try:
        stored = path.read_bytes()
    except OSError:
        return 0, ""
    return len(stored), hashlib.sha256(stored).hexdigest()


@dataclass(frozen=True)
class Found:
    """A file of the log folder: its place, and its name relative to the folder."""

    path: Path
    file: str


def find(folder: Path) -> tuple[list[Found], list[Found]]:
    """Return the files to try and the other files, both in order of their names.

    Folders that alarmsift wrote and hidden folders are left out.
    """
    if not folder.exists():
        raise InputError(f"there is no folder '{folder.name}'.", mend="Check the path.")
    if not folder.is_dir():
        raise InputError(f"'{folder.name}' is a file.", mend="Give the folder that holds the logs.")
    if marked(folder):
        raise InputError(
            f"'{folder.name}' is a folder that alarmsift wrote, not a log folder.",
            mend="Give the folder that holds the logs, or the 'tables' folder inside a report.",
        )
    logs: list[Found] = []
    others: list[Found] = []
    for here, folders, files in os.walk(folder):
        place = Path(here)
        folders[:] = sorted(f for f in folders if f[0] != "." and not marked(place / f))
        for name in sorted(files):
            if name == SITE_FILE or name[0] in ".~":
                continue
            found = Found(place / name, (place / name).relative_to(folder).as_posix())
            ends = name.lower().endswith((*TEXT_ENDINGS, PARQUET_ENDING, *SHEET_ENDINGS))
            (logs if ends else others).append(found)
    return logs, others


def load(path: Path) -> tuple[bytes, str, int]:
    """Return a file's content (unpacked), its SHA-256 and its size on disk [bytes]."""
    try:
        stored = path.read_bytes()
    except OSError as error:
        raise Unusable(f"can't be opened ({error.strerror or 'no reason given'})") from error
    digest = hashlib.sha256(stored).hexdigest()
    data = stored
    if path.name.lower().endswith(".gz"):
        try:
            data = gzip.decompress(stored)
        except (OSError, EOFError, zlib.error) as error:
            raise Unusable("is damaged: it can't be unpacked") from error
    if not data[:_HEAD].strip(_BLANKS) and not data.strip(_BLANKS):
        raise Unusable("is empty")
    for magic, words in _MAGIC:
        if data.startswith(magic) and not path.name.lower().endswith(_OWN):
            raise Unusable(words)
    return data, digest, len(stored)
