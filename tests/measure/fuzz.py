"""Damaged files, many of them: ``python -m tests.measure.fuzz --files 2000``.

Damages the logs of ``tests/reading/corpus`` (bits flipped, pieces cut out, wrong encodings, columns
swapped, NULs, lines of a megabyte, stray quotes, line ends) and reads each: no traceback, none
longer than 10 s, and for every file rows read = kept + refused + duplicates.
"""

from __future__ import annotations

import argparse
import faulthandler
import tempfile
import time
import traceback
import warnings
from pathlib import Path

from alarmsift.errors import InputError
from alarmsift.reading.describe import describe
from alarmsift.reading.folder import read_logs
from tests.reading.conftest import adds_up, write
from tests.reading.mutations import damaged, originals

MOST_SECONDS = 10.0  # [s]


def outcome(seed: int, folder: Path) -> str:
    """Return what became of one damaged folder: read, asked, crashed or books wrong."""
    with tempfile.TemporaryDirectory() as place:
        write(Path(place), damaged(folder, seed))
        try:
            logs = read_logs(place)
            describe(logs).encode("cp1252")
        except InputError:
            return "asked"
        except Exception:  # noqa: BLE001  (a crash is what is looked for)
            print(f"seed {seed}, {folder.parent.name}:\n{traceback.format_exc(limit=-2)}")
            return "crashed"
    return "read" if adds_up(logs) else "books wrong"


def main() -> None:
    """Run and print the counts; exit status 1 when anything went wrong."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--files", type=int, default=2000)
    parser.add_argument("--first-seed", type=int, default=1000)
    options = parser.parse_args()
    folders = originals()
    counts: dict[str, int] = {}
    longest = (0.0, 0)
    for seed in range(options.first_seed, options.first_seed + options.files):
        faulthandler.dump_traceback_later(6 * MOST_SECONDS, exit=True)
        start = time.perf_counter()
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            what = outcome(seed, folders[seed % len(folders)])
        longest = max(longest, (time.perf_counter() - start, seed))
        counts[what] = counts.get(what, 0) + 1
    faulthandler.cancel_dump_traceback_later()
    print(", ".join(f"{what}: {count}" for what, count in sorted(counts.items())))
    print(f"longest: {longest[0]:.1f} s (seed {longest[1]})")
    wrong = counts.keys() - {"read", "asked"} or longest[0] > MOST_SECONDS
    raise SystemExit(1 if wrong else 0)


if __name__ == "__main__":
    main()
