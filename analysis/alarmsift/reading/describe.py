"""What a log folder was understood to be, in words for the engineer who exported it."""

from __future__ import annotations

import textwrap

import pandas as pd

from alarmsift.tables.logs import Logs
from alarmsift.tables.schema import TABLES

GAP_HOURS = 3.0  # a round takes half an hour at most (MSC.1/Circ.1370, 2.1.2); this is six of them
_SHOWN = 12  # entries of a list that are shown before it is cut short
_WIDTH = 96


def describe(logs: Logs) -> str:
    """Return the import summary as plain text, letters of code page 1252 only.

    Parameters
    ----------
    logs : Logs

    Returns
    -------
    str
        Several lines, ending with a line break.
    """
    parts = [
        _head(logs),
        _section("Files", _files(logs)),
        _section("Tables", _tables(logs)),
        _section(f"Gaps in the readings longer than {GAP_HOURS:g} h", _gaps(logs)),
        _section("Refused rows and cells", _refused(logs.ledger.rejected)),
        _section("Rows that contradict each other", _conflicts(logs.ledger.conflicts)),
        _section("Understood and assumed", _sentences(logs.ledger.learnt)),
        _section("Please look at", _sentences(logs.ledger.warnings)),
    ]
    text = "\n".join(part for part in parts if part)
    return text.encode("cp1252", "replace").decode("cp1252")


def _section(title: str, lines: list[str]) -> str:
    if not lines:
        return ""
    return "\n".join([title, *(f"  {line}" for line in lines), ""])


def _sentences(sentences: tuple[str, ...]) -> list[str]:
    out: list[str] = []
    for sentence in sentences:
        out += textwrap.wrap(_clean(sentence), _WIDTH, initial_indent="- ", subsequent_indent="  ")
    return out


def _clean(text: object) -> str:
    """Return a text from a file on one line, without control characters."""
    return "".join(c if c.isprintable() else "?" for c in " ".join(str(text).split()))


def _head(logs: Logs) -> str:
    times = [t for name in ("readings", "events") for t in getattr(logs, name)["time"].dropna()[:1]]
    ends = [t for name in ("readings", "events") for t in getattr(logs, name)["time"].dropna()[-1:]]
    files = logs.ledger.files
    lines = [f"Logs of {_clean(logs.name)}"]
    if times:
        start, end = min(times), max(ends)
        days = (end - start).total_seconds() / 86_400
        lines.append(
            f"From {logs.clock.show(start)} to {logs.clock.show(end)} ship's time "
            f"({days:.1f} days); clock: {_clock(logs)}"
        )
    total = files[["rows_read", "accepted", "rejected", "duplicates", "cells_refused"]].sum()
    lines.append(
        f"{total['rows_read']} rows read = {total['accepted']} kept + {total['rejected']} refused"
        f" + {total['duplicates']} duplicate; {total['cells_refused']} single cells refused"
    )
    return "\n".join([*lines, ""])


def _clock(logs: Logs) -> str:
    changes = len(logs.clock.changes)
    return logs.clock.zone + (f", changed {changes} times" if changes else "")


def _files(logs: Logs) -> list[str]:
    out: list[str] = []
    for row in logs.ledger.files.itertuples():
        if not row.table:
            out.append(f"{_clean(row.file)}: not used (see below)")
            continue
        how = [f"{row.layout} layout", str(row.encoding)]
        how += [f"delimiter {row.delimiter}"] if row.delimiter else []
        out.append(f"{_clean(row.file)}: {row.table} ({', '.join(how)})")
        counts = f"{row.rows_read} rows: {row.accepted} kept, {row.rejected} refused, "
        counts += f"{row.duplicates} duplicate"
        counts += f"; {row.cells_refused} cells refused" if row.cells_refused else ""
        out.append(f"    {counts}")
        if not pd.isna(row.first_time):
            out.append(f"    {logs.clock.show(row.first_time)} to {logs.clock.show(row.last_time)}")
        named = logs.ledger.columns.get(row.file, {})
        if named:
            pairs = ", ".join(f"'{_clean(w)}' = {plain}" for w, plain in named.items())
            out += textwrap.wrap(
                f"columns: {pairs}", _WIDTH, initial_indent="    ", subsequent_indent="      "
            )
        if row.left_out_columns:
            out += textwrap.wrap(
                f"columns left out: {_clean(row.left_out_columns)}",
                _WIDTH,
                initial_indent="    ",
                subsequent_indent="      ",
            )
    return out


def _tables(logs: Logs) -> list[str]:
    out = []
    for name in TABLES:
        frame = getattr(logs, name)
        if not len(frame):
            continue
        words = [f"{len(frame)} rows"]
        for column, plural in (("point", "points"), ("gas", "gases")):
            if column in frame and frame[column].notna().any():
                values = sorted(str(v) for v in frame[column].dropna().unique())
                shown = ", ".join(values) if column == "gas" else str(len(values))
                words.append(f"{plural} {shown}" if column == "gas" else f"{shown} {plural}")
        if name == "readings" and len(frame):
            odd = frame["status"].value_counts().drop("ok", errors="ignore")
            words += [f"{count} {status}" for status, count in odd.items() if count]
        out.append(f"{name}: {', '.join(words)}")
    missing = [n for n in TABLES if not len(getattr(logs, n))]
    if missing:
        out.append(f"not there: {', '.join(missing)}")
    return out


def _gaps(logs: Logs) -> list[str]:
    times = logs.readings["time"].dropna().drop_duplicates().reset_index(drop=True)
    steps = times.diff().dt.total_seconds() / 3600
    long = steps[steps > GAP_HOURS]
    out = [
        f"{logs.clock.show(times[i - 1])} to {logs.clock.show(times[i])} ({long[i]:.1f} h)"
        for i in long.index[:_SHOWN]
    ]
    return [*out, f"and {len(long) - _SHOWN} more"] if len(long) > _SHOWN else out


def _refused(rejected: pd.DataFrame) -> list[str]:
    """Return one line a file, column and reason, the most frequent first."""
    if not len(rejected):
        return []
    keys = ["file", "column", "reason"]
    groups = rejected.groupby(keys, sort=False).agg(
        count=("row", "size"), row=("row", "first"), text=("text", "first")
    )
    groups = groups.sort_values("count", ascending=False, kind="stable").reset_index()
    out: list[str] = []
    for group in groups.head(_SHOWN).itertuples():
        column = f", column '{_clean(group.column)}'" if group.column else ""
        line = (
            f"{group.count} x {_clean(group.file)}{column}: {_clean(group.reason)} "
            f"(first: row {group.row}, '{_clean(group.text)[:40]}')"
        )
        out += textwrap.wrap(line, _WIDTH, subsequent_indent="    ")
    return [*out, f"and {len(groups) - _SHOWN} more kinds"] if len(groups) > _SHOWN else out


def _conflicts(conflicts: pd.DataFrame) -> list[str]:
    out: list[str] = []
    for row in conflicts.head(_SHOWN).itertuples():
        line = f"{_clean(row.file)} row {row.row}: {row.column} {_clean(row.text)}; "
        line += _clean(row.reason)
        out += textwrap.wrap(line, _WIDTH, subsequent_indent="    ")
    return [*out, f"and {len(conflicts) - _SHOWN} more"] if len(conflicts) > _SHOWN else out
