"""``python -m alarmsift``: the same as the command ``alarmsift``."""

from __future__ import annotations

from alarmsift.cli.main import run

if __name__ == "__main__":  # worker processes on Windows import this file again
    raise SystemExit(run())
