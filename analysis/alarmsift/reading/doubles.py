"""Rows that are there twice, and rows that contradict each other.

A duplicate is identical in every cell. Gas readings are quantised, so equal values are normal:
only the whole row, at the same moment, counts. In a file whose times have only minutes, two visits
can look the same, so there identical rows are all kept.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from alarmsift.reading.sheet import Refusal, Sheet

_AT_ONCE = 8  # rows of one moment that are compared one by one
_BLOCK = 1 << 15  # rows that are worked on together
_PRIME = np.uint64(0x9E3779B97F4A7C15)  # odd constant of Fibonacci hashing (Knuth, TAOCP 6.4)

# What makes two rows speak of the same thing, and the cells in which they can contradict.
KEYS = {
    "readings": (["time", "point", "gas", "analyser"], ["value", "status"]),
    "events": (["time", "point", "gas", "event", "level", "state"], ["value", "text"]),
    "operations": (["time", "action", "point", "gas"], ["value", "reference", "level", "note"]),
    "points": (["point"], ["space", "kind", "order", "length_m", "bore_mm", "volume_m3"]),
    "setpoints": (["gas", "level", "point"], ["value", "deadband", "direction"]),
    "findings": (["time", "point", "gas"], ["found", "note"]),
}


def mixed(parts: list[np.ndarray]) -> np.ndarray:
    """Return one number a row from several, shape (n,); equal rows give equal numbers."""
    whole = np.zeros(len(parts[0]), dtype=np.uint64)
    for low in range(0, len(whole), _BLOCK):  # so many rows stay near the processor
        out = whole[low : low + _BLOCK]
        for part in parts:
            more = part[low : low + _BLOCK].astype(np.uint64)
            out ^= more + _PRIME + (out << np.uint64(6)) + (out >> np.uint64(2))
            out *= _PRIME
            out ^= out >> np.uint64(29)
    return whole


def same_rows(sheet: Sheet, moment: np.ndarray) -> np.ndarray:
    """Return which rows of a file repeat an earlier one in every cell, shape (n,).

    Parameters
    ----------
    sheet : Sheet
    moment : array of int64, shape (n,)
        UTC of each row: in the hour that a clock set back lives twice, equal texts are not
        the same time.
    """
    codes = [column.codes for column in sheet.columns]
    number = mixed([moment, *codes])
    if _apart_in_time(moment, number):
        return np.zeros(len(number), dtype=bool)
    if pd.unique(number).size == len(number):
        return np.zeros(len(number), dtype=bool)
    exact = pd.DataFrame({"moment": moment, **{str(i): code for i, code in enumerate(codes)}})
    some = pd.Series(number).duplicated(keep=False).to_numpy()
    out = np.zeros(len(number), dtype=bool)
    out[some] = exact[some].duplicated().to_numpy()
    return out


def _apart_in_time(moment: np.ndarray, number: np.ndarray) -> bool:
    """Tell whether surely no number comes twice, for rows in order of time.

    Equal rows are then close together: only rows of one moment are compared.
    """
    same = moment[1:] == moment[:-1]
    if not len(same) or (moment[1:] < moment[:-1]).any():
        return False
    for step in range(1, _AT_ONCE + 1):
        if not same.any():
            return True
        if (same & (number[step:] == number[:-step])).any():
            return False
        same = same[:-1] & same[1:] if step == 1 else same[:-1] & (
            moment[step + 1 :] == moment[: -step - 1])  # fmt: skip
    return not same.any()


def across_files(frame: pd.DataFrame, columns: list[str]) -> np.ndarray:
    """Return which rows were already in another, earlier file, shape (n,).

    The third of three equal rows of one file answers the third of another: what a file says three
    times is there three times.
    """
    files = frame["source"].to_numpy()
    if "time" in columns and _apart(frame["time"], files):
        return np.zeros(len(frame), dtype=bool)
    number = mixed([_numbers(frame[name]) for name in columns])
    nth = pd.Series(number).groupby([files, number], sort=False).cumcount().to_numpy()
    both = mixed([number, nth])
    out: np.ndarray = pd.Series(both).duplicated().to_numpy()
    return out


def _apart(time: pd.Series, files: np.ndarray) -> bool:
    """Tell whether no two files cover the same time, as with logs kept by the month."""
    if time.isna().any():
        return False
    span = time.groupby(files).agg(["min", "max"]).sort_values("min")
    return bool((span["min"].iloc[1:].to_numpy() > span["max"].iloc[:-1].to_numpy()).all())


def _numbers(series: pd.Series) -> np.ndarray:
    """Return one number a cell, equal for equal content whatever the file, shape (n,)."""
    if isinstance(series.dtype, pd.CategoricalDtype):
        names = pd.util.hash_array(series.cat.categories.to_numpy(dtype=object), categorize=False)
        return np.asarray(np.append(names, np.uint64(0))[series.cat.codes.to_numpy()])
    if series.dtype.kind == "M":
        return series.dt.tz_localize(None).to_numpy().view(np.uint64)
    if series.dtype.kind == "f":
        values = series.to_numpy() + 0.0  # minus zero is zero
        return np.where(np.isnan(values), np.nan, values).view(np.uint64)
    if series.dtype.kind in "iu":
        return series.to_numpy().astype(np.int64).view(np.uint64)
    return np.asarray(pd.util.hash_pandas_object(series.astype("object").fillna(""), index=False))


def _all_different(frame: pd.DataFrame, keys: list[str]) -> bool:
    """Tell whether surely no key comes twice; the quick way, for tables of labels and times."""
    labels = [frame[k].cat for k in keys if isinstance(frame[k].dtype, pd.CategoricalDtype)]
    if "time" not in keys or len(labels) < len(keys) - 1 or frame["time"].isna().any():
        return False
    number = frame["time"].dt.tz_localize(None).to_numpy().view(np.int64)
    number = number - number.min(initial=np.iinfo(np.int64).max)
    for label in labels:
        size = len(label.categories) + 1
        if number.max(initial=0) > np.iinfo(np.int64).max // (size + 1):
            return False
        number *= size
        number += label.codes.to_numpy()
        number += 1
    number.sort(kind="stable")  # logs are nearly in order, which a merging sort is quick with
    return bool((number[1:] != number[:-1]).all())


def conflicts(frame: pd.DataFrame, table: str) -> list[tuple[str, Refusal]]:
    """Return rows that say another thing about the same moment, as (file, refusal) pairs.

    Parameters
    ----------
    frame : DataFrame
        Canonical rows with ``source_file`` and ``source_row``.
    table : str
    """
    keys, cells = KEYS[table]
    keys = [k for k in keys if k in frame]
    if _all_different(frame, keys):
        return []
    number = mixed([_numbers(frame[name]) for name in keys])
    again = pd.Series(number).duplicated(keep=False).to_numpy()
    if not again.any():
        return []
    some = frame[again].reset_index(drop=True)
    number = number[again]
    first = pd.Series(np.arange(len(some))).groupby(number).transform("first").to_numpy()
    out: list[tuple[str, Refusal]] = []
    told = np.zeros(len(some), dtype=bool)
    for cell in [name for name in cells if name in some]:
        content = _numbers(some[cell])
        differ = (content != content[first]) & ~told
        told |= differ
        ending = "the first is used" if table == "points" else "both kept"
        out += _tell(some, first, np.flatnonzero(differ), (cell, ", ".join(keys), ending))
    return out


def _tell(
    some: pd.DataFrame, first: np.ndarray, rows: np.ndarray, what: tuple[str, str, str]
) -> list[tuple[str, Refusal]]:
    cell, keys, ending = what
    out = []
    for at in rows.tolist():
        one, other = some.iloc[at], some.iloc[first[at]]
        said = "nothing" if pd.isna(other[cell]) else f"{other[cell]:.15g}" if isinstance(
            other[cell], float) else str(other[cell])  # fmt: skip
        mine = "" if pd.isna(one[cell]) else f"{one[cell]:.15g}" if isinstance(
            one[cell], float) else str(one[cell])  # fmt: skip
        where = f"{other['source_file']} row {other['source_row']}"
        reason = f"same {keys} as {where}, which says {said}; {ending}"
        row = np.array([one["source_row"]], dtype=np.int64)
        texts = np.array([mine], dtype=object)
        out.append((str(one["source_file"]), Refusal(row, cell, texts, reason, whole_row=False)))
    return out
