"""Make the example report and its picture again: ``python -m tests.measure.example``.

Diagnoses the first days of a sample ship (a shorter log keeps the repository small) into
``reports/example``. With chromium at hand, the picture for the README is taken of its first page.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import tempfile
from pathlib import Path

import pandas as pd

from alarmsift.pipeline.diagnose import diagnose
from alarmsift.reading.folder import read_logs
from alarmsift.report.folder import write_report

ROOT = Path(__file__).resolve().parents[2]
LOGS = ROOT / "sample_logs" / "amber_heron"
OUT = ROOT / "reports" / "example"
PICTURE = ROOT / "reports" / "example.png"
DAYS = 10.0
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")


def shortened(logs: Path, folder: Path, days: float) -> Path:
    """Copy a log folder's first days."""
    folder.mkdir()
    frames = {
        path.name: pd.read_csv(path, dtype=str, keep_default_na=False)
        for path in sorted(logs.glob("*.csv"))
    }
    first = min(f["time"].min() for name, f in frames.items() if name.startswith("readings"))
    last = (pd.Timestamp(first) + pd.Timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%SZ")
    for name, frame in frames.items():
        kept = frame[frame["time"] < last] if "time" in frame else frame
        if len(kept):
            kept.to_csv(folder / name, index=False, lineterminator="\n", encoding="utf-8")
    shutil.copyfile(logs / "site.toml", folder / "site.toml")
    return folder


def picture(page: Path, target: Path) -> bool:
    """Take a picture of a page; tell whether a browser was there to do it."""
    browser = next((path for path in map(shutil.which, BROWSERS) if path), None)
    if browser is None:
        return False
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        words = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"]
        words += [f"--user-data-dir={profile}", "--window-size=1100,1250"]
        words += [f"--screenshot={target}", page.as_uri()]
        subprocess.run(words, check=True, capture_output=True, timeout=120)
    return True


def main(arguments: list[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=float, default=DAYS)
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as place:
        logs = read_logs(shortened(LOGS, Path(place) / LOGS.name, options.days))
    write_report(diagnose(logs), OUT)
    size = sum(path.stat().st_size for path in OUT.rglob("*") if path.is_file())
    print(f"reports/example: {size / 1e6:.1f} MB")
    if picture(OUT / "index.html", PICTURE):
        print(f"reports/example.png: {PICTURE.stat().st_size / 1e3:.0f} kB")
    else:
        print("No chromium: the picture was left as it is.")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
