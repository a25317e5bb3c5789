"""The same ship in twelve exports, and how fast large files are read.

``python -m tests.measure.layouts same --ships 3 --days 30`` simulates ships, writes each in every
way of ``exports.py``, diagnoses all and compares episodes and verdicts with those of the plain
layout. Exit status 1 when an export that carries the same information gives another result.

``python -m tests.measure.layouts speed --rows 2000000`` writes readings in plain, merged and wide
layout and times reading them against pyarrow's typed read of the same file to pandas, in turns and
each in a process of its own; told are the medians of ``--runs`` (other work on the machine moves
single runs by half), by the clock and, in brackets, of the processor.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd

from tests.measure.exports import CARRIES_LESS, WRITERS
from tests.measure.speed import peak_gb

KEYS = ["kind", "point", "gas", "level", "raised", "cleared", "acknowledged"]
VERDICTS = ["cause", "treat_as"]
# How many times pyarrow's typed read the reading may take [-].
MOST_TIMES = {"plain": 4.0, "merged": 5.0, "wide": 5.0}


def same(ships: int, days: float, first_seed: int) -> bool:
    """Compare all exports of some ships; print a line an export."""
    from alarmsift.simulate.ship import draw_settings, simulate
    from alarmsift.simulate.write import _toml

    counts = dict.fromkeys(WRITERS, (0, 0, 0))
    for seed in range(first_seed, first_seed + ships):
        ship = simulate(draw_settings(seed, days=days))
        site = ship.site | {"lfl": {"gas": "propane", "vol_percent": 2.1}, "clock": "UTC"}
        reference = None
        for name, write in WRITERS.items():
            got = _episodes(write(ship.tables), _toml(site))
            reference = got if reference is None else reference
            keys = KEYS[:-1] if name in CARRIES_LESS else KEYS
            both = reference.merge(got, on=keys, how="left", suffixes=("", "_got"), indicator=True)
            found = both["_merge"] == "both"
            alike = found & np.all([both[v] == both[f"{v}_got"] for v in VERDICTS], axis=0)
            old = counts[name]
            counts[name] = (old[0] + len(reference), old[1] + int(found.sum()),
                            old[2] + int(alike.sum()))  # fmt: skip
    good = True
    for name, (episodes, found, alike) in counts.items():
        less = " (carries less)" if name in CARRIES_LESS else ""
        print(f"{name:18} episodes {found}/{episodes}, verdicts alike {alike}/{episodes}{less}")
        good &= alike == episodes or name in CARRIES_LESS
    return good


def _episodes(files: dict[str, bytes], site: str) -> pd.DataFrame:
    from alarmsift.pipeline.diagnose import diagnose
    from alarmsift.reading.folder import read_logs

    with tempfile.TemporaryDirectory() as place:
        for name, content in files.items():
            (Path(place) / name).write_bytes(content)
        (Path(place) / "site.toml").write_text(site, encoding="utf-8")
        logs = read_logs(place)
        episodes = diagnose(logs).episodes
    frame = episodes[[*KEYS, *VERDICTS]].astype("object")
    return frame.where(frame.notna(), "").astype(str)


def speed(rows: int, runs: int) -> bool:
    """Time reading against pyarrow; print a line a layout."""
    good = True
    with tempfile.TemporaryDirectory() as place:
        for layout, most in MOST_TIMES.items():
            folder = Path(place) / layout
            folder.mkdir()
            _write(folder / "readings.csv", layout, rows)
            turns = np.array([[_timed(how, folder, layout) for how in ("ours", "arrow")]
                              for _ in range(runs)])  # fmt: skip
            (ours, cpu, peak), (arrow, arrow_cpu, _) = np.median(turns, axis=0)
            times, cpu_times, _ = np.median(turns[:, 0] / turns[:, 1], axis=0)
            good &= bool(times <= most)
            print(
                f"{layout:7} {rows} readings: {ours:.2f} s ({cpu:.2f}), peak {peak:.2f} GB; "
                f"pyarrow typed {arrow:.2f} s ({arrow_cpu:.2f}); "
                f"{times:.1f} times ({cpu_times:.1f}; most {most:g})"
            )
    return good


def _timed(how: str, folder: Path, layout: str) -> list[float]:
    """Return clock and processor time [s] and peak memory [GB] of a reading in its own process."""
    command = [sys.executable, "-m", "tests.measure.layouts", how, "--folder", str(folder)]
    command += ["--delimiter", ";" if layout == "merged" else ","]
    told = subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    return [float(word) for word in told[-3:]]


def _one(how: str, folder: Path, delimiter: str) -> None:
    if how == "ours":
        from alarmsift.reading.folder import read_logs

        start, cpu = time.perf_counter(), time.process_time()
        read_logs(folder)
    else:
        from pyarrow import csv

        start, cpu = time.perf_counter(), time.process_time()
        grammar = csv.ParseOptions(delimiter=delimiter)
        kinds = csv.ConvertOptions(decimal_point="," if delimiter == ";" else ".")
        csv.read_csv(
            folder / "readings.csv", parse_options=grammar, convert_options=kinds
        ).to_pandas()
    print(time.perf_counter() - start, time.process_time() - cpu, peak_gb())


_PIECE = 100_000  # visits that are written at a time
_POINTS = [f"BT{number}{side}" for number in range(1, 13) for side in "PS"]


def _write(path: Path, layout: str, rows: int) -> None:
    """Write made-up readings of 24 points and two gases, a visit every 45 s."""
    rng = np.random.default_rng(1)
    visits = rows // 2 if layout != "wide" else rows // (2 * len(_POINTS))
    with path.open("w", encoding="utf-8", newline="\n") as file:
        for low in range(0, visits, _PIECE):
            at = np.arange(low, min(low + _PIECE, visits))
            frame = _frame(layout, at, rng)
            sep, decimal = (";", ",") if layout == "merged" else (",", ".")
            frame.to_csv(file, index=False, header=not low, sep=sep, decimal=decimal)


def _frame(layout: str, at: np.ndarray, rng: np.random.Generator) -> pd.DataFrame:
    time_ = pd.Series(np.datetime64("2005-01-01T00:00:00") + at * np.timedelta64(45, "s"))
    if layout == "wide":
        tags = [f"{point}.{gas}" for point in _POINTS for gas in ("HC [%LEL]", "H2S [ppm]")]
        cells = np.abs(rng.normal(1, 1, (len(at), len(tags)))).round(1)
        frame = pd.DataFrame(cells, columns=tags)
        frame.insert(0, "time", time_.dt.strftime("%Y-%m-%dT%H:%M:%S"))
        return frame
    point = np.array(_POINTS)[at % len(_POINTS)]
    hc, h2s = np.abs(rng.normal(1, 1, (2, len(at)))).round(1)
    flow, suction = rng.normal(2, 0.1, len(at)).round(2), rng.normal(12, 0.5, len(at)).round(1)
    if layout == "merged":
        return pd.DataFrame(
            {"Date": time_.dt.strftime("%d.%m.%Y"), "Time": time_.dt.strftime("%H:%M:%S"),
             "Point": point, "HC [%LEL]": hc, "H2S [ppm]": h2s, "Flow [L/min]": flow,
             "Vacuum [mbar]": suction * 10}
        )  # fmt: skip
    return pd.DataFrame(
        {"time": np.repeat(time_.dt.strftime("%Y-%m-%dT%H:%M:%SZ"), 2),
         "point": np.repeat(point, 2), "gas": np.tile(["HC", "H2S"], len(at)),
         "value": np.column_stack([hc, h2s]).ravel(),
         "unit": np.tile(["%LFL", "ppm"], len(at)), "status": "ok", "flow": np.repeat(flow, 2),
         "suction": np.repeat(suction, 2)}
    )  # fmt: skip


def main() -> None:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("same", "speed", "ours", "arrow"))
    parser.add_argument("--ships", type=int, default=3)
    parser.add_argument("--days", type=float, default=30.0)
    parser.add_argument("--first-seed", type=int, default=9000)
    parser.add_argument("--rows", type=int, default=2_000_000)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--delimiter", default=",")
    options = parser.parse_args()
    if options.what == "same":
        good = same(options.ships, options.days, options.first_seed)
    elif options.what == "speed":
        good = speed(options.rows, options.runs)
    else:
        _one(options.what, options.folder, options.delimiter)
        good = True
    raise SystemExit(0 if good else 1)


if __name__ == "__main__":
    main()
