"""A log folder in, the canonical tables of one ship out."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from alarmsift.errors import InputError
from alarmsift.reading.alarm_clock import set_right
from alarmsift.reading.asked import Known
from alarmsift.reading.assemble import enter, part_of, table_frame
from alarmsift.reading.disk import Found, Unusable, find, fingerprint
from alarmsift.reading.draft import Draft
from alarmsift.reading.ledger import Books
from alarmsift.reading.local_time import (
    Spans,
    clock_changes,
    clock_in_words,
    ship_clock,
    spans_of,
    to_utc,
)
from alarmsift.reading.names import apply_aliases, compare_names, drop_system, say_unused
from alarmsift.reading.open_table import open_table, parts_of
from alarmsift.reading.orders import settle_decimal, settle_order
from alarmsift.reading.places import settle_places
from alarmsift.reading.setpoints import note_units, site_rows
from alarmsift.reading.site_file import read_site, setpoint_lines
from alarmsift.reading.typed import Typed, type_rows
from alarmsift.tables.logs import Logs
from alarmsift.tables.progress import SILENT, Progress
from alarmsift.tables.schema import TABLES

# Setpoints may say the units of readings, and readings those of the alarm list.
_ORDER = ("readings", "setpoints", "events", "operations", "points", "findings")


def read_logs(path: str | Path, *, progress: Progress = SILENT) -> Logs:
    """Return the canonical tables of a log folder, with the ledger of how they were read.

    Parameters
    ----------
    path : str or Path
        Folder with CSV (also ``.csv.gz``) or parquet files, and perhaps ``site.toml``.
    progress : Progress

    Returns
    -------
    Logs

    Raises
    ------
    InputError
        When there is nothing to read, or when the logs leave open what only the ship knows.
    """
    folder = Path(path)
    found, others = find(folder)
    site = read_site(folder)
    known = Known(site, Books())
    drafts = _open_all(found, known, progress)
    _require(drafts, (found, others), known.books)
    if others:
        names = ", ".join(other.file for other in others[:5]) + (", ..." if len(others) > 5 else "")
        known.books.learn(
            f"Files of other kinds than CSV, parquet and xlsx were not read: {names}."
        )
    drafts = settle_places(drafts, site)
    for draft in drafts:
        for sentence in draft.said:
            known.books.learn(f"In {draft.sheet.file} {sentence}.")
    say_unused(drafts, site, known.books)
    known.setpoint_units.update(note_units(drafts, site))
    typed = _type_all(drafts, known, progress)
    spans, utc = _moments(typed, known)
    parts = [part_of(one, moment) for one, moment in zip(typed, utc, strict=True)]
    frames = {
        name: table_frame([p for p in parts if p.typed.draft.table == name], name, known.books)
        for name in TABLES
    }
    for part in parts:
        enter(part, known.books)
    frames["setpoints"] = site_rows(frames["setpoints"], known, setpoint_lines(folder))
    frames = drop_system(apply_aliases(frames, site, known.books), known.books)
    frames = set_right(frames, site, known.books)
    compare_names(frames, known.books)
    if not len(frames["readings"]) and not len(frames["events"]):
        raise _nothing_left(known.books)
    progress.close()
    return Logs(
        **frames,
        ledger=known.books.closed(),
        site=site,
        clock=ship_clock(site.clock, spans),
        name=site.name or folder.resolve().name,
        folder=folder,
    )


def _open_all(found: list[Found], known: Known, progress: Progress) -> list[Draft]:
    progress.stage("Reading files", len(found))
    drafts = []
    for one in found:
        try:
            parts = parts_of(one)
        except Unusable as reason:
            known.books.unusable(one.file, *fingerprint(one.path), str(reason))
            parts = []
        for part in parts:
            try:
                drafts.append(open_table(part, known.site))
            except Unusable as reason:
                known.books.unusable(part.file, part.size, part.sha256, str(reason))
        progress.step()
    return drafts


def _require(drafts: list[Draft], found: tuple[list[Found], list[Found]], books: Books) -> None:
    """Stop when no file holds readings or events."""
    if any(draft.table in ("readings", "events") for draft in drafts):
        return
    logs, others = found
    if not logs:
        names = ", ".join(other.file for other in others[:5])
        raise InputError(
            "the folder holds no .csv, .csv.gz, .parquet or .xlsx file"
            + (f" (only {names})." if names else "."),
            mend="Export the logs as CSV and put them there.",
        )
    told = " ".join(books.warnings[:5])
    tables = ", ".join(sorted({draft.table for draft in drafts}))
    raise InputError(
        "the folder holds neither readings nor events"
        + (f", only {tables}." if tables else ".")
        + (f" {told}" if told else ""),
        mend="Readings need the columns time, point, gas, value; events time, point, event, state.",
    )


def _nothing_left(books: Books) -> InputError:
    ledger = books.closed()
    refused = len(ledger.rejected)
    if not refused:
        return InputError(
            "the readings and events hold a header but no rows.",
            mend="Export a time span that holds data.",
        )
    first = ledger.rejected.iloc[0]
    return InputError(
        f"no row could be used ({refused} refused; this is the first): {first['reason']}, "
        f"found '{first['text'][:40]}'.",
        file=str(first["file"]),
        row=int(first["row"]),
        column=str(first["column"]) or None,
        mend="Correct the column, or say under [columns] in site.toml which column is which.",
    )


def _type_all(drafts: list[Draft], known: Known, progress: Progress) -> list[Typed]:
    progress.stage("Understanding rows", len(drafts))
    order = settle_order(drafts, known)
    comma = settle_decimal(drafts, known)
    made: dict[int, Typed] = {}
    for number in sorted(range(len(drafts)), key=lambda i: (_ORDER.index(drafts[i].table), i)):
        made[number] = type_rows(drafts[number], known, order=order[number], comma=comma[number])
        progress.step()
    return [made[number] for number in range(len(drafts))]


def _moments(typed: list[Typed], known: Known) -> tuple[list[tuple[int, int]], list[np.ndarray]]:
    """Return the changes of the ship's clock and the UTC [us] of every draft row, file by file."""
    zone = known.site.clock
    changes, own = _clock_rows(typed, zone, known.books)
    naive = [~one.judge.dead & ~one.aware & ("time" in one.draft.columns) for one in typed]
    some = any(rows.any() for rows in naive)
    if some:
        _say_clock(known, bool(changes))
    if not some or (zone == "UTC" and not changes):
        return changes, [one.moment for one in typed]
    local = [one.moment[rows] for one, rows in zip(typed, naive, strict=True) if rows.any()]
    first, last = min(int(t.min()) for t in local), max(int(t.max()) for t in local)
    spans = spans_of(zone, first, last, changes)
    utc = [_in_utc(one, rows, spans, known.books) for one, rows in zip(typed, naive, strict=True)]
    for number, (rows, moments) in own.items():
        utc[number][rows] = moments
    return changes, utc


def _in_utc(one: Typed, rows: np.ndarray, spans: Spans, books: Books) -> np.ndarray:
    out = one.moment.copy()
    frame = one.frame
    group = None
    if "point" in frame and isinstance(frame["point"].dtype, pd.CategoricalDtype):
        group = frame["point"].cat.codes.to_numpy().astype(np.int64) * 16
        if "gas" in frame and isinstance(frame["gas"].dtype, pd.CategoricalDtype):
            group = group + frame["gas"].cat.codes.to_numpy()
        group = group[rows]
    out[rows], unsure = to_utc(one.moment[rows], spans, group=group)
    if unsure:
        books.warn(
            f"{unsure} rows in {one.draft.sheet.file} lie in an hour that the clock showed "
            "twice, and the rows around them don't tell which; the first was taken."
        )
    return out


def _clock_rows(
    typed: list[Typed], zone: str, books: Books
) -> tuple[list[tuple[int, int]], dict[int, tuple[np.ndarray, np.ndarray]]]:
    """Return the clock changes, and per file the rows that make them with their UTC."""
    where, local, aware, hours, steps = [], [], [], [], []
    for number, one in enumerate(typed):
        if one.draft.table != "operations":
            continue
        value = one.frame.get("value", pd.Series(np.nan, one.frame.index)).to_numpy()
        rows = (one.frame["action"] == "clock").to_numpy() & ~one.judge.dead
        notes = one.frame.get("note", pd.Series(np.nan, one.frame.index)).to_numpy(dtype=object)
        offset, step = zip(*map(clock_in_words, notes), strict=True) if len(notes) else ((), ())
        value = np.where(np.isnan(value), np.array(offset, dtype=float), value)
        by = np.where(np.isnan(value), np.array(step, dtype=float), np.nan)
        # The widest offset on Earth, and the widest step that is put on a ship's clock at once [h].
        fits = (np.abs(np.nan_to_num(value, nan=99.0)) <= 14.0) | (np.abs(by) <= 2.0)
        if (rows & ~fits).any():
            books.warn(
                f"{int((rows & ~fits).sum())} clock operations in {one.draft.sheet.file} have no "
                "offset from UTC in hours as value; they were not used."
            )
        at = np.flatnonzero(rows & fits)
        where += [(number, int(row)) for row in at]
        local.append(one.moment[at])
        aware.append(one.aware[at])
        hours.append(value[at])
        steps.append(by[at])
    if not where:
        return [], {}
    changes, moments = clock_changes(
        np.concatenate(local),
        np.concatenate(aware),
        np.concatenate(hours),
        zone,
        steps=np.concatenate(steps),
    )
    own: dict[int, tuple[np.ndarray, np.ndarray]] = {}
    files = np.array([number for number, _ in where])
    rows_of = np.array([row for _, row in where])
    for number in sorted(set(files.tolist())):
        own[number] = (rows_of[files == number], moments[files == number])
    return changes, own


def _say_clock(known: Known, changed: bool) -> None:
    zone = known.site.clock
    default = "" if "clock" in known.site.given else " (no clock is set in site.toml)"
    known.books.learn(
        f"Times without an offset were read as {zone}{default}"
        + (", and from each 'clock' operation on by the offset that it gives." if changed else ".")
    )
