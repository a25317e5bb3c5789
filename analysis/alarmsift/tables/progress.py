"""Progress as a small object passed down; the default does nothing."""

from __future__ import annotations


class Progress:
    """Told what is being done and how far it is; does nothing by itself."""

    def stage(self, words: str, total: int | None = None) -> None:
        """Begin a stage of ``total`` steps (None = unknown)."""

    def step(self, count: int = 1) -> None:
        """Count ``count`` steps of the present stage as done."""

    def close(self) -> None:
        """End the display."""


SILENT = Progress()
