"""The marker file by which alarmsift knows the folders that it wrote itself."""

from __future__ import annotations

import json
from pathlib import Path

MARKER = ".alarmsift.json"


def mark(folder: Path, kind: str) -> None:
    """Write the marker; ``kind`` is ``report``, ``truth`` or ``pack``."""
    text = json.dumps({"made_by": "alarmsift", "kind": kind}) + "\n"
    (folder / MARKER).write_text(text, encoding="utf-8", newline="\n")


def marked(folder: Path) -> bool:
    """Tell whether alarmsift wrote this folder."""
    return (folder / MARKER).is_file()
