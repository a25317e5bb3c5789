"""The table of weights of evidence, and how a user's own numbers take the place of some of it.

A row a sign and cause: decibans if the sign is present, decibans if it is absent. The priors of the
causes are rows with the sign ``prior``; they have no ``absent``. Whatever is changed, an alarm is
called a nuisance only where the built-in weights call it so too (``treat.no_looser``).
"""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Iterable

import numpy as np
import pandas as pd

from alarmsift.diagnosis.cause import Cause
from alarmsift.errors import InputError

PRIOR = "prior"
KEYS = ["sign", "cause"]
NUMBERS = ["present", "absent"]
# Odds of a million to one: no single answer of a sign can be worth more [decibans] (CP).
MOST_DECIBANS = 60.0
_LISTED = "The report's weights.csv lists every sign and cause."


def whole_table(of_signs: pd.DataFrame, causes: Iterable[Cause]) -> pd.DataFrame:
    """Return the weights of the signs and the priors of the causes as one sorted table."""
    priors = pd.DataFrame(
        [(PRIOR, one.key, float(one.prior), np.nan, "", one.prior_source) for one in causes],
        columns=list(of_signs.columns),
    )
    both = pd.concat([of_signs.astype(priors.dtypes.to_dict()), priors])
    return both.sort_values(KEYS, kind="stable", ignore_index=True)


def of_signs(table: pd.DataFrame) -> pd.DataFrame:
    """Return the rows of the signs."""
    return table[table["sign"] != PRIOR]


def with_priors(causes: tuple[Cause, ...], table: pd.DataFrame) -> tuple[Cause, ...]:
    """Return the causes with the priors of the table."""
    prior = table[table["sign"] == PRIOR].set_index("cause")["present"]
    return tuple(dataclasses.replace(one, prior=float(prior[one.key])) for one in causes)


def changed(
    table: pd.DataFrame, given: pd.DataFrame, *, signs: Iterable[str], name: str, file: str | None
) -> tuple[pd.DataFrame, int]:
    """Return the table with the rows that were given, and how many of them differ.

    Parameters
    ----------
    table : DataFrame
        What :func:`whole_table` gives.
    given : DataFrame
        ``sign``, ``cause``, ``present``, ``absent`` [decibans], and if wanted ``reason``; the
        index is the row for messages. A sign and cause that have no weight yet get one.
    signs : iterable of str
        Every sign there is.
    name : str
        What the change is called in ``source``.
    file : str or None
        The file for messages.

    Raises
    ------
    InputError
        At the first row that can't be used.
    """
    new = _checked(given, {*signs, PRIOR}, set(table["cause"]), file).set_index(KEYS)
    old = table.set_index(KEYS)
    before = old[NUMBERS].reindex(new.index)
    as_was = before.fillna(0.0).to_numpy(float)
    differs = (as_was != new[NUMBERS].fillna(0.0).to_numpy(float)).any(axis=1)
    new, as_was = new[differs], as_was[differs]
    reason = old["reason"].reindex(new.index).fillna("")
    if "reason" in new:
        own = new["reason"].fillna("").astype(str).str.strip()
        reason = own.where(own != "", reason)
    rows = new[NUMBERS].assign(
        reason=reason,
        source=[
            f"changed by {name}; built in: {a:g}" + (f" and {b:g}" if sign != PRIOR else "")
            for (sign, _), (a, b) in zip(new.index, as_was, strict=True)
        ],
    )
    kept = old[~old.index.isin(rows.index)].reset_index()
    both = pd.concat([kept, rows.reset_index()]) if len(rows) else kept
    out = both[list(table.columns)].astype(table.dtypes.to_dict())
    return out.sort_values(KEYS, kind="stable", ignore_index=True), len(rows)


def _checked(
    given: pd.DataFrame, signs: set[str], causes: set[str], file: str | None
) -> pd.DataFrame:
    """Return the rows with ``present`` and ``absent`` as numbers, or say what is wrong."""
    missing = [name for name in [*KEYS, *NUMBERS] if name not in given]
    if missing:
        raise InputError(
            f"the column '{missing[0]}' is missing, expected sign, cause, present and absent.",
            file=file,
            row=None if file is None else 1,
            mend="Take the header from weights.csv of any report.",
        )
    if given.columns.duplicated().any():
        twice = str(given.columns[given.columns.duplicated()][0])
        raise InputError(
            "the column is there twice.", file=file, column=twice, mend="Keep one of them."
        )
    out = given.copy()
    for column, known in (("sign", signs), ("cause", causes)):
        out[column] = given[column].astype(str).str.strip()
        at = _first(~out[column].isin(known))
        if at is not None:
            word = out[column].iloc[at]
            near = difflib.get_close_matches(word, sorted(known), 1)
            mend = f"Did you mean '{near[0]}'? {_LISTED}" if near else _LISTED
            what = f"there is no {column} '{word}'."
            raise InputError(what, file=file, row=_row(given, at), column=column, mend=mend)
    is_prior = out["sign"] == PRIOR
    for column in NUMBERS:
        text = given[column].astype(str).str.strip().str.replace("\u2212", "-")
        number = pd.to_numeric(text, errors="coerce").astype(float)
        blank = given[column].isna() | (text == "")
        unused = is_prior & (column == "absent")
        wrong = ~(number.abs() <= MOST_DECIBANS) & ~(blank & unused)
        wrong |= unused & (number.fillna(0.0) != 0.0)
        at = _first(wrong)
        if at is not None:
            expected = (
                "a prior has no weight when absent, expected a blank cell"
                if bool(unused.iloc[at])
                else f"expected a number of decibans from -{MOST_DECIBANS:g} to {MOST_DECIBANS:g}"
            )
            mend = "Correct it, or delete the row to keep the built-in weight."
            what = f"{_quoted(given[column].iloc[at])} can't be used: {expected}."
            raise InputError(what, file=file, row=_row(given, at), column=column, mend=mend)
        out[column] = number.mask(unused)
    at = _first(out.duplicated(KEYS))
    if at is not None:
        sign, cause = out[KEYS].iloc[at]
        what = f"sign '{sign}' and cause '{cause}' were given before, expected one row for both."
        raise InputError(
            what, file=file, row=_row(given, at), column="sign", mend="Delete one of the rows."
        )
    return out


def _first(wrong: pd.Series) -> int | None:
    at = np.flatnonzero(wrong.to_numpy(bool))
    return int(at[0]) if len(at) else None


def _row(given: pd.DataFrame, at: int) -> int:
    return int(given.index[at])


def _quoted(cell: object) -> str:
    text = "" if cell is None or cell is pd.NA else str(cell).strip()
    return f"'{text[:40]}'" if text and text != "nan" else "a blank cell"
