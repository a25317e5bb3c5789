"""Time and memory on one ship-year: ``python -m tests.measure.speed``.

Simulates a ship of about 25 points and two gases over a year (more than a million readings), then
measures, each in a process of its own: pyarrow reading the same readings files as plain text,
reading and diagnosis without pages, everything with pages and plots, and the evidence pack of a
night. The first is the yardstick of the computer: a slower computer is slower at it too.
"""

from __future__ import annotations

import argparse
import cProfile
import json
import pstats
import subprocess
import sys
import tempfile
import time
import tracemalloc
from pathlib import Path

FIRST = "index.html"
SEED = 266  # 25 points, HC and H2S, every optional column
DAYS = 365.0
MOST_TIMES_TEXT = 40.0  # reading and diagnosis, in reads of the same files as text [-]
MOST_SECONDS = 40.0  # everything, with pages [s]
MOST_GB = 1.5  # peak memory of the process [GB]
MOST_REPORT_SECONDS = 15.0  # all pages and tables of a report [s]
MOST_PACK_SECONDS, PACK_HOURS = 15.0, 12.0  # an evidence pack [s], of so long [h]
MOST_FOLDER_MB, MOST_INDEX_MB = 25.0, 1.5  # the report folder, and its first page [MB]


def make(folder: Path, seed: int, days: float) -> None:
    """Write the ship's logs."""
    from alarmsift.simulate.ship import draw_settings, simulate
    from alarmsift.simulate.write import write_ship

    ship = simulate(draw_settings(seed, days=days))
    write_ship(ship, folder, days_per_file=30.0)


def as_text(folder: Path) -> float:
    """Return the seconds that pyarrow takes to read the readings files, every cell a string."""
    import pyarrow as pa
    from pyarrow import csv

    files = sorted(folder.glob("readings*.csv"))
    start = time.perf_counter()
    for file in files:
        with file.open(encoding="utf-8") as head:
            names = head.readline().strip().split(",")
        every = csv.ConvertOptions(column_types={name: pa.string() for name in names})
        csv.read_csv(file, convert_options=every)
    return time.perf_counter() - start


def diagnosed(folder: Path, out: Path | None) -> dict[str, float]:
    """Return the seconds of reading and diagnosis, and of the report when ``out`` is given."""
    from alarmsift.pipeline.diagnose import diagnose
    from alarmsift.reading.folder import read_logs
    from alarmsift.report.folder import write_report

    times = [time.perf_counter()]
    logs = read_logs(folder)
    times.append(time.perf_counter())
    diagnosis = diagnose(logs)
    times.append(time.perf_counter())
    if out is not None:
        write_report(diagnosis, out)
        times.append(time.perf_counter())
    sizes = {} if out is None else {"folder_mb": megabytes(out), "index_mb": megabytes(out / FIRST)}
    names = ("read", "diagnose", "report")
    return {name: b - a for name, a, b in zip(names, times, times[1:], strict=False)} | {
        "episodes": float(len(diagnosis.episodes)),
        **sizes,
    }


def packed(folder: Path, out: Path) -> float:
    """Return the seconds of the evidence pack of some hours in the middle, reading and all."""
    import pandas as pd

    from alarmsift.incident.pack import pack_incident
    from alarmsift.reading.folder import read_logs

    logs = read_logs(folder)  # for a night with an alarm; the pack reads its own copies
    raised = logs.events.loc[logs.events["state"].astype(str) == "raised", "time"]
    night = raised.iloc[len(raised) // 2]
    start = time.perf_counter()
    pack_incident(folder, night, night + pd.Timedelta(hours=PACK_HOURS), out)
    return time.perf_counter() - start


def megabytes(place: Path) -> float:
    """Return the bytes of a file, or of all files of a folder [MB]."""
    files = [place] if place.is_file() else [path for path in place.rglob("*") if path.is_file()]
    return sum(path.stat().st_size for path in files) / 1e6


def peak_gb() -> float:
    """Return this process's largest memory so far [GB]."""
    try:
        import resource
    except ImportError:  # Windows: what Python itself allocated, the better part of it
        return tracemalloc.get_traced_memory()[1] / 1e9
    unit = 1.0 if sys.platform == "darwin" else 1024.0  # getrusage(2): bytes there, KiB elsewhere
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e9


def work(what: str, folder: Path) -> dict[str, float]:
    """Do one measurement in this process."""
    if what == "make":
        make(folder, SEED, DAYS)
        return {}
    if what == "text":
        return {"text": min(as_text(folder) for _ in range(5))}
    if what == "diagnosis":
        runs = [diagnosed(folder, None) for _ in range(2)]  # the better of two, as for the text
        best = min(runs, key=lambda run: run["read"] + run["diagnose"])
        return {**best, "gb": peak_gb()}
    with tempfile.TemporaryDirectory() as out:
        if what == "pack":
            return {"pack": packed(folder, Path(out) / "pack")}
        return {**diagnosed(folder, Path(out) / "report"), "gb": peak_gb()}


def apart(what: str, folder: Path) -> dict[str, float]:
    """Do one measurement in a process of its own."""
    here = [sys.executable, "-m", "tests.measure.speed", "--folder", str(folder), "--only", what]
    done = subprocess.run(here, check=True, capture_output=True, text=True, encoding="utf-8")
    return dict(json.loads(done.stdout.splitlines()[-1]))


def profile(folder: Path, rows: int) -> None:
    """Print where the time of everything goes."""
    recorder = cProfile.Profile()
    with tempfile.TemporaryDirectory() as out:
        recorder.enable()
        diagnosed(folder, Path(out) / "report")
        recorder.disable()
    pstats.Stats(recorder).sort_stats("cumulative").print_stats("alarmsift", rows)
    pstats.Stats(recorder).sort_stats("tottime").print_stats(rows)


def lines(file: Path) -> int:
    """Return the number of rows under the header."""
    return file.read_bytes().count(b"\n") - 1


def report(folder: Path, readings: int) -> bool:
    """Measure and print; tell whether every figure is reached."""
    text = apart("text", folder)["text"]
    bare, full = apart("diagnosis", folder), apart("all", folder)
    two, three = bare["read"] + bare["diagnose"], full["read"] + full["diagnose"] + full["report"]
    gb, pack = max(bare["gb"], full["gb"]), apart("pack", folder)["pack"]
    print(f"readings {readings}, episodes {bare['episodes']:.0f}")
    print(f"pyarrow reads the readings as text   {text:7.2f} s")
    print(f"reading                              {bare['read']:7.2f} s")
    print(f"diagnosis                            {bare['diagnose']:7.2f} s")
    rows = (
        ("reading and diagnosis, times the read as text", two / text, MOST_TIMES_TEXT),
        ("everything [s]", three, MOST_SECONDS),
        ("peak memory [GB]", gb, MOST_GB),
        ("report with pages and plots [s]", full["report"], MOST_REPORT_SECONDS),
        ("evidence pack of twelve hours [s]", pack, MOST_PACK_SECONDS),
        ("report folder [MB]", full["folder_mb"], MOST_FOLDER_MB),
        ("first page [MB]", full["index_mb"], MOST_INDEX_MB),
    )
    for words, value, limit in rows:
        print(f"{words:46s} {value:6.2f}  limit {limit:g}  {'ok' if value < limit else 'OVER'}")
    return all(value < limit for _, value, limit in rows)


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, help="logs made before; else a temporary ship")
    parser.add_argument("--only", choices=("make", "text", "diagnosis", "all", "pack"))
    parser.add_argument("--profile", type=int, metavar="ROWS", help="print a profile instead")
    options = parser.parse_args(arguments)
    if options.only:
        print(json.dumps(work(options.only, options.folder)))
        return 0
    with tempfile.TemporaryDirectory() as place:
        folder = options.folder or Path(place) / "year"
        if not folder.is_dir():
            apart("make", folder)
        readings = sum(lines(file) for file in folder.glob("readings*.csv"))
        if options.profile:
            profile(folder, options.profile)
            return 0
        return 0 if report(folder, readings) else 1


if __name__ == "__main__":
    if sys.platform == "win32":
        tracemalloc.start()
    raise SystemExit(main())
