"""Names of points: the alarm list's against the readings', aliases, and the nearest match."""

from __future__ import annotations

import difflib
import os

import pandas as pd

from alarmsift.reading.alarm_words import SYSTEM
from alarmsift.reading.draft import Draft
from alarmsift.reading.header import understand
from alarmsift.reading.ledger import Books
from alarmsift.reading.sheet import counts
from alarmsift.reading.words import gas_of, key
from alarmsift.tables.schema import TABLES
from alarmsift.tables.site import Site

_SHOWN = 12  # names that one warning lists
_RARE = 0.02  # share of the usual number of rows a point
_ALIASED = ("events", "operations", "setpoints", "findings", "points")


def apply_aliases(
    frames: dict[str, pd.DataFrame], site: Site, books: Books
) -> dict[str, pd.DataFrame]:
    """Return the tables with the alarm list's names replaced by the readings' names."""
    if not site.aliases:
        return frames
    out = dict(frames)
    used: set[str] = set()
    for table in _ALIASED:
        frame = frames[table]
        column = frame["point"]
        names = column.astype("object")
        hit = names.isin(list(site.aliases))
        if not hit.any():
            continue
        used |= set(names[hit])
        renamed = names.where(~hit, names.map(site.aliases)).astype("str")
        if isinstance(column.dtype, pd.CategoricalDtype):
            renamed = renamed.astype("category")
        out[table] = frame.assign(point=renamed)
    for name in sorted(used):
        books.learn(f"'{name}' was taken as '{site.aliases[name]}' ([aliases] in site.toml).")
    for name in sorted(set(site.aliases) - used):
        books.warn(f"The alias '{name}' in site.toml occurs in no table.")
    return out


def drop_system(frames: dict[str, pd.DataFrame], books: Books) -> dict[str, pd.DataFrame]:
    """Return the tables with the system's name taken off the readings' points, where that fits.

    A historian writes ``GDS.BT1P`` for the point that all other tables call ``BT1P``. It is taken
    off only when all readings share it, and when every name of the other tables is then found.
    """
    others = set().union(*(_names(frames[t]) for t in ("events", "points", "operations")))
    if not others:
        return frames
    column = frames["readings"]["point"]
    names = _names(frames["readings"])
    shared = os.path.commonprefix(sorted(names))
    start = max(shared.rfind(mark) for mark in "._:/\\|- ") + 1
    if len(names) < 2 or not start or others & names:
        return frames
    if not others <= {name[start:] for name in names}:
        return frames
    books.learn(f"'{shared[:start]}' was taken off the readings' names of points.")
    renamed = column.cat.rename_categories(lambda name: name.removeprefix(shared[:start]))
    return frames | {"readings": frames["readings"].assign(point=renamed)}


def say_unused(drafts: list[Draft], site: Site, books: Books) -> None:
    """Warn of settings for columns that no file has, each with the nearest column there is."""
    headers = {name for draft in drafts for name in draft.sheet.header if name}
    here = {key(name) for name in headers}
    short = {key(understand(name, {}).core) for name in headers}
    tables = {key(n) for t in TABLES.values() for n in t.names}
    for section, said in (("columns", site.columns), ("units", site.units)):
        for name in said:
            general = section == "units" and (gas_of(name) or key(name) in tables)
            if key(name) in here | short or general:
                continue
            near = nearest(name, headers)
            books.warn(
                f"[{section}] in site.toml speaks of a column '{name}', which no file has"
                + (f" (nearest: '{near}')." if near else ".")
            )


def compare_names(frames: dict[str, pd.DataFrame], books: Books) -> None:
    """List the names of points that only one table knows, each with the nearest match."""
    rows = _rows_a_name(frames["readings"]["point"])
    readings = set(rows.index)
    if not readings:
        return
    _say_rare(rows, books)
    for table in ("events", "operations", "points", "setpoints", "findings"):
        _say_missing(
            _names(frames[table]) - readings - {SYSTEM},
            readings,
            books,
            f"{table} but not in readings",
        )
    points = _names(frames["points"])
    if points:
        _say_missing(readings - points, points, books, "readings but not in points")


def _names(frame: pd.DataFrame) -> set[str]:
    column = frame["point"]
    if isinstance(column.dtype, pd.CategoricalDtype):
        return set(_rows_a_name(column).index)
    return {str(name) for name in column.dropna().unique()}


def _rows_a_name(column: pd.Series) -> pd.Series:
    """Return how many rows each name of a label column has, those with none left out."""
    codes = column.cat.codes.to_numpy()
    size = len(column.cat.categories)
    rows = counts(codes + codes.dtype.type(1), size + 1)[1:]
    return pd.Series(rows, index=column.cat.categories.astype("object"))[rows > 0]


def _say_rare(rows: pd.Series, books: Books) -> None:
    """Name points with hardly any rows: they may be slips of the pen."""
    rare = sorted(str(name) for name in rows.index[rows < _RARE * rows.median()])
    if rare:
        shown = ", ".join(f"'{name}'" for name in rare[:_SHOWN])
        more = f" and {len(rare) - _SHOWN} more" if len(rare) > _SHOWN else ""
        books.warn(
            f"Points with hardly any readings: {shown}{more}. They were kept; if a name is written "
            "wrongly, correct it in the file."
        )


def _say_missing(missing: set[str], there: set[str], books: Books, where: str) -> None:
    if not missing:
        return
    told = []
    for name in sorted(missing)[:_SHOWN]:
        near = nearest(name, there - missing)
        told.append(f"'{name}'" + (f" (nearest: '{near}')" if near else ""))
    more = f" and {len(missing) - _SHOWN} more" if len(missing) > _SHOWN else ""
    books.warn(
        f"Points in {where}: {', '.join(told)}{more}. They were not joined; "
        "[aliases] in site.toml joins names that mean the same point."
    )


def nearest(name: str, there: set[str]) -> str:
    """Return the nearest of the names, case and separators aside; blank when none is near."""
    plain = {"".join(c for c in other.lower() if c.isalnum()): other for other in sorted(there)}
    mine = "".join(c for c in name.lower() if c.isalnum())
    near = difflib.get_close_matches(mine, list(plain), n=1, cutoff=0.6)
    return plain[near[0]] if near else ""
