"""From the judged rows of all files to one frame a table, each row there once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from pandas.api.types import union_categoricals

from alarmsift.reading import doubles
from alarmsift.reading.judge import categorical, labels
from alarmsift.reading.ledger import Books, file_entry, listing
from alarmsift.reading.typed import Typed
from alarmsift.reading.words import key
from alarmsift.tables.schema import TABLES, TIME_DTYPE, Table, conform, empty


@dataclass
class Part:
    """The rows of one file while tables are put together.

    Attributes
    ----------
    typed : Typed
    utc : array of int64, shape (k,)
        Moments [us].
    keep : array of bool, shape (k,)
        Draft rows that are still in.
    double : array of bool, shape (n,)
        Rows of the sheet that are duplicates.
    """

    typed: Typed
    utc: np.ndarray
    keep: np.ndarray
    double: np.ndarray


def part_of(typed: Typed, utc: np.ndarray) -> Part:
    """Return a file's part, with rows left out that are in the file twice."""
    sheet, rows = typed.draft.sheet, typed.draft.rows
    keep = ~typed.judge.dead
    if typed.minutes_only:
        return Part(typed, utc, keep, np.zeros(len(sheet.lines), dtype=bool))
    moment = np.zeros(len(sheet.lines), dtype=np.int64)
    moment[rows] = utc
    double = doubles.same_rows(sheet, moment)
    if double.any():
        double &= typed.judge.survivors()
        keep &= ~double[rows]
    return Part(typed, utc, keep, double)


def table_frame(parts: list[Part], name: str, books: Books) -> pd.DataFrame:
    """Return one canonical table of all its files, sorted by time, and list its conflicts."""
    table = TABLES[name]
    filled = [(number, part) for number, part in enumerate(parts) if part.keep.any()]
    if not filled:
        return empty(table)
    several = len(filled) > 1
    whole = _concat([_frame(part, number if several else None) for number, part in filled])
    if several:
        whole = _once(whole, parts, table)
    for file, refusal in doubles.conflicts(whole, name):
        books.conflicts.append(listing(file, refusal))
    if name == "points":  # a point has one place; two rows of it would count its rows twice later
        whole = whole.drop_duplicates("point", ignore_index=True)
    if "time" in whole and not whole["time"].is_monotonic_increasing:
        whole = whole.sort_values("time", kind="stable")
    return conform(whole.drop(columns=["source", "at"], errors="ignore"), table)


def _frame(part: Part, number: int | None) -> pd.DataFrame:
    """Return the rows of one file that are in, with where they come from.

    ``number`` tells the files of a table apart; None when there is one only.
    """
    typed = part.typed
    # Where nothing is left out nothing is copied.
    index = None if part.keep.all() else np.flatnonzero(part.keep)
    frame = typed.frame if index is None else typed.frame.iloc[index].reset_index(drop=True)
    made: dict[str, object] = {}
    if "time" in TABLES[typed.draft.table].names:
        utc = part.utc if index is None else part.utc[index]
        moments = pd.DatetimeIndex(utc.view("datetime64[us]"), tz="UTC", copy=False)
        made["time"] = pd.Series(moments).astype(TIME_DTYPE)
    made |= dict(frame.items()) | _source(typed, index)
    if number is not None:
        made["source"] = np.full(len(frame), number, dtype=np.int32)
        made["at"] = np.arange(len(frame)) if index is None else index
    return pd.DataFrame(made, index=frame.index, copy=False)


def _source(typed: Typed, index: np.ndarray | None) -> dict[str, object]:
    """Return the columns that say which file and line each row comes from."""
    sheet, columns = typed.draft.sheet, typed.draft.columns
    rows = typed.draft.rows if index is None else typed.draft.rows[index]
    if {"source_file", "source_row"} <= columns.keys():
        index = np.arange(len(rows)) if index is None else index
        row = pd.to_numeric(pd.Series(columns["source_row"].text(index)), errors="coerce")
        return {
            "source_file": labels(columns["source_file"].at(index))[0],
            "source_row": row.fillna(0).astype("int64").to_numpy(),
        }
    plain = len(rows) == len(sheet.lines)  # one draft row a row of the sheet
    return {
        "source_file": categorical(np.zeros(len(rows), dtype=np.int8), [sheet.file]),
        "source_row": sheet.lines if plain and index is None else sheet.lines[rows],
    }


def _concat(frames: list[pd.DataFrame]) -> pd.DataFrame:
    """Return frames one under the other, categories kept as categories."""
    if len(frames) == 1:
        return frames[0]
    names = list(dict.fromkeys(name for frame in frames for name in frame))
    out: dict[str, object] = {}
    for name in names:
        series = [f[name] if name in f else pd.Series(np.nan, f.index) for f in frames]
        if any(isinstance(one.dtype, pd.CategoricalDtype) for one in series):
            made = [_categories(one) for one in series]
            out[name] = union_categoricals(made, sort_categories=True)
        else:
            out[name] = pd.concat(series, ignore_index=True)
    return pd.DataFrame(out, copy=False)


def _categories(series: pd.Series) -> pd.Categorical:
    if isinstance(series.dtype, pd.CategoricalDtype):
        return series.array
    return pd.Categorical(series.astype("str"), categories=pd.Index([], dtype="str"))


def _once(whole: pd.DataFrame, parts: list[Part], table: Table) -> pd.DataFrame:
    """Leave out rows that an earlier file holds already, and note them in the parts."""
    columns = [name for name in table.names if name in whole]
    double = doubles.across_files(whole, columns)
    if not double.any():
        return whole
    gone = whole.loc[double, ["source", "at"]]
    for number, rows in gone.groupby("source")["at"]:
        part = parts[int(str(number))]
        part.keep[rows.to_numpy()] = False
        sheet_rows = part.typed.draft.rows
        alive = np.zeros(len(part.double), dtype=bool)
        alive[sheet_rows[part.keep]] = True
        part.double[sheet_rows[rows.to_numpy()]] = True
        part.double &= ~alive
    return whole[~double].reset_index(drop=True)


def enter(part: Part, books: Books) -> None:
    """Enter one file in the ledger, after its duplicates are known."""
    typed = part.typed
    draft, judge = typed.draft, typed.judge
    sheet = draft.sheet
    refusals = [*sheet.refused, *judge.refusals()]
    books.refuse(sheet.file, refusals)
    ragged = sum(len(refusal.rows) for refusal in sheet.refused)
    lost = ragged + sum(len(r.rows) for r in refusals[len(sheet.refused) :] if r.whole_row)
    doubled = int(part.double.sum())
    entry = file_entry(sheet, draft.table, draft.layout)
    read = len(sheet.lines) + ragged
    entry.update(
        rows_read=read,
        accepted=read - lost - doubled,
        rejected=lost,
        duplicates=doubled,
        cells_refused=sum(len(r.rows) for r in refusals if not r.whole_row),
        left_out_columns=", ".join(draft.left_out),
    )
    if "time" in draft.columns and part.keep.any():
        moments = part.utc[part.keep]
        entry["first_time"] = pd.Timestamp(int(moments.min()), unit="us", tz="UTC")
        entry["last_time"] = pd.Timestamp(int(moments.max()), unit="us", tz="UTC")
    other = {w: plain for plain, w in draft.written.items() if plain not in draft.exact and w}
    if draft.value_names is not None and draft.layout == "merged":
        used = np.unique(draft.value_names.codes)
        names = draft.value_names.texts.to_pylist()
        gases = draft.columns["gas"].texts.to_pylist()
        other |= {names[code]: gases[code] for code in used.tolist() if names[code]}
    books.columns[sheet.file] = {w: p for w, p in other.items() if key(w) != p.lower()}
    if not read:
        books.warn(f"{sheet.file} holds a header of {draft.table} but no rows.")
    books.files.append(entry)
