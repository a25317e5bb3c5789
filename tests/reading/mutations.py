"""Damage done to log files: what a bad disk, a bad cable or a helpful colleague leaves behind."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

CORPUS = Path(__file__).parent / "corpus"
_CODES = ("utf-8", "utf-16", "utf-16-be", "utf-32", "cp1252", "cp1251", "cp437", "cp037")


def _bits(data: bytearray, rng: random.Random) -> bytes:
    for _ in range(rng.choice((1, 3, 20, 200))):
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
    return bytes(data)


def _cut(data: bytearray, rng: random.Random) -> bytes:
    first, last = sorted(rng.randrange(len(data) + 1) for _ in range(2))
    return bytes(data[:first] if rng.random() < 0.5 else data[:first] + data[last:])


def _recoded(data: bytearray, rng: random.Random) -> bytes:
    text = bytes(data).decode(rng.choice(("utf-8", "cp1252", "utf-16")), "replace")
    return text.encode(rng.choice(_CODES), "replace")


def _columns_swapped(data: bytearray, rng: random.Random) -> bytes:
    mark = max(b",;\t|", key=lambda c: data.count(bytes([c])))
    lines = bytes(data).split(b"\n")
    first, second = rng.randrange(8), rng.randrange(8)
    for number in range(rng.randrange(len(lines)), len(lines)):
        cells = lines[number].split(bytes([mark]))
        if max(first, second) < len(cells):
            cells[first], cells[second] = cells[second], cells[first]
        lines[number] = bytes([mark]).join(cells)
    return b"\n".join(lines)


def _nul(data: bytearray, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    return bytes(data[:at] + b"\x00" * rng.choice((1, 2, 50, 5000)) + data[at:])


def _long_line(data: bytearray, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    filler = rng.choice((b"x", b",", b";", b'"', b"9", b" ", b"a,", b'"",'))
    return bytes(data[:at] + filler * (1_000_000 // len(filler)) + data[at:])


def _quotes(data: bytearray, rng: random.Random) -> bytes:
    for _ in range(rng.choice((1, 2, 9))):
        data.insert(rng.randrange(len(data) + 1), ord('"'))
    return bytes(data)


def _lines_doubled(data: bytearray, rng: random.Random) -> bytes:
    lines = bytes(data).split(b"\n")
    rng.shuffle(lines)
    return b"\n".join(lines * rng.choice((1, 2, 40)))


def _ends(data: bytearray, rng: random.Random) -> bytes:
    return bytes(data).replace(b"\n", rng.choice((b"\r", b"\r\n", b"\n\r", b"\n\n", b"\r\r\n")))


def _delimiters(data: bytearray, rng: random.Random) -> bytes:
    one = rng.choice((b",", b";", b"\t", b".", b":"))
    return bytes(data).replace(one, rng.choice((b",", b";", b"\t", b"|", b" ", b"")))


MUTATIONS: tuple[Callable[[bytearray, random.Random], bytes], ...] = (
    _bits, _cut, _recoded, _columns_swapped, _nul, _long_line, _quotes, _lines_doubled, _ends,
    _delimiters,
)  # fmt: skip


def originals() -> list[Path]:
    """Return the folders of logs that are damaged."""
    return sorted(path for path in CORPUS.glob("*/logs"))


def damaged(folder: Path, seed: int) -> dict[str, bytes]:
    """Return the files of a folder, one of them damaged in up to three ways."""
    rng = random.Random(seed)
    files = {path.name: path.read_bytes() for path in sorted(folder.iterdir())}
    name = rng.choice(sorted(files))
    for _ in range(rng.choice((1, 1, 2, 3))):
        if files[name]:
            files[name] = rng.choice(MUTATIONS)(bytearray(files[name]), rng)
    return files
