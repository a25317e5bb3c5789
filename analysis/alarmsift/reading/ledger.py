"""The books of one import: what each file held, what was kept, refused, double, and why."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
import pandas as pd

from alarmsift.reading.sheet import Refusal, Sheet
from alarmsift.tables.logs import FILE_COLUMNS, REJECTED_COLUMNS, Ledger
from alarmsift.tables.schema import TIME_DTYPE

_COUNTS = ["rows_read", "accepted", "rejected", "duplicates", "cells_refused", "bytes"]
_REJECTED_KINDS = {c: "int64" if c == "row" else "str" for c in REJECTED_COLUMNS}


@dataclass
class Books:
    """The ledger while it is being written."""

    files: list[dict[str, object]] = field(default_factory=list)
    rejected: list[pd.DataFrame] = field(default_factory=list)
    conflicts: list[pd.DataFrame] = field(default_factory=list)
    learnt: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    columns: dict[str, dict[str, str]] = field(default_factory=dict)
    settled: dict[str, set[str]] = field(default_factory=dict)

    def settle(self, setting: str, value: str) -> None:
        """Note a setting that the files decided; files that disagree decide nothing."""
        self.settled.setdefault(setting, set()).add(value)

    def learn(self, sentence: str) -> None:
        """Note what was understood or assumed, once."""
        if sentence not in self.learnt:
            self.learnt.append(sentence)

    def warn(self, sentence: str) -> None:
        """Note what the user should look at, once."""
        if sentence not in self.warnings:
            self.warnings.append(sentence)

    def refuse(self, file: str, refusals: list[Refusal]) -> None:
        """List refused rows and cells."""
        for refusal in refusals:
            if len(refusal.rows):
                self.rejected.append(listing(file, refusal))

    def unusable(self, file: str, size: int, digest: str, why: str) -> None:
        """Enter a file that holds no table."""
        self.files.append({"file": file, "table": "", "bytes": size, "sha256": digest})
        self.warn(f"{file} was not used: it {why}.")

    def closed(self) -> Ledger:
        """Return the finished ledger, in order of file and row."""
        files = pd.DataFrame(self.files, columns=FILE_COLUMNS)
        files[_COUNTS] = files[_COUNTS].astype("float64").fillna(0).astype("int64")
        for column in ("first_time", "last_time"):
            files[column] = pd.to_datetime(files[column], utc=True).astype(TIME_DTYPE)
        texts = [c for c in FILE_COLUMNS if c not in (*_COUNTS, "first_time", "last_time")]
        files[texts] = files[texts].fillna("").astype("str")
        files = files.sort_values("file", kind="stable", ignore_index=True)
        return Ledger(
            files=files,
            rejected=_together(self.rejected),
            conflicts=_together(self.conflicts),
            learnt=tuple(self.learnt),
            warnings=tuple(self.warnings),
            columns=self.columns,
            settled={name: v for name, (v, *more) in self.settled.items() if not more},
        )


def listing(file: str, refusal: Refusal) -> pd.DataFrame:
    """Return one refusal as rows of the ledger, columns REJECTED_COLUMNS."""
    return pd.DataFrame(
        {
            "file": file,
            "row": refusal.rows.astype(np.int64),
            "column": refusal.column,
            "text": refusal.texts,
            "reason": refusal.reason,
        }
    )


def file_entry(sheet: Sheet, table: str, layout: str) -> dict[str, object]:
    """Return the part of a file's entry that is known before its rows are judged."""
    return {
        "file": sheet.file,
        "table": table,
        "layout": layout,
        "encoding": sheet.encoding,
        "delimiter": {"\t": "tab"}.get(sheet.delimiter, sheet.delimiter),
        "bytes": sheet.size,
        "sha256": sheet.sha256,
    }


def _together(parts: list[pd.DataFrame]) -> pd.DataFrame:
    if not parts:
        return _none().copy(deep=False)
    frame = pd.concat(parts, ignore_index=True)[REJECTED_COLUMNS]
    frame = frame.sort_values(["file", "row"], kind="stable", ignore_index=True)
    return frame.astype(_REJECTED_KINDS)


@cache
def _none() -> pd.DataFrame:
    return pd.DataFrame({column: [] for column in REJECTED_COLUMNS}).astype(_REJECTED_KINDS)
