"""A progress bar on stderr, shown only to a person at a terminal."""

from __future__ import annotations

import sys
from typing import Any

from alarmsift.tables.progress import SILENT, Progress


class Bar(Progress):
    """One line that says what is being done; it vanishes when the work is done."""

    def __init__(self) -> None:
        self._bar: Any = None

    def stage(self, words: str, total: int | None = None) -> None:
        """Begin a stage of ``total`` steps (None = unknown)."""
        from tqdm import tqdm

        self.close()
        form = "{desc}" if total is None else "{desc} {bar} {n_fmt}/{total_fmt}"
        self._bar = tqdm(
            total=total, desc=words, file=sys.stderr, leave=False, bar_format=form, ascii=" #"
        )

    def step(self, count: int = 1) -> None:
        """Count ``count`` steps of the present stage as done."""
        if self._bar is not None:
            self._bar.update(count)

    def close(self) -> None:
        """Take the line away."""
        if self._bar is not None:
            self._bar.close()
            self._bar = None


def bar() -> Progress:
    """Return a bar when a person looks at stderr, else a silent one."""
    return Bar() if sys.stderr is not None and sys.stderr.isatty() else SILENT
