"""Which weights are in force: the built-in ones, with a user's own in place of some."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from alarmsift.diagnosis.weights import changed, whole_table
from alarmsift.pipeline.signs_read import all_signs, weights_table
from alarmsift.pipeline.verdicts import all_causes
from alarmsift.reading.weights_file import read_weights
from alarmsift.tables.diagnosis import WeightsChange

FROM_PYTHON = "a table given from Python"


@dataclass(frozen=True)
class InForce:
    """The weights in force.

    Attributes
    ----------
    table : DataFrame
        WEIGHT_COLUMNS, with the priors.
    change : WeightsChange or None
        What was changed; None when nothing was given.
    """

    table: pd.DataFrame
    change: WeightsChange | None


def weights_in_force(given: pd.DataFrame | Path | str | None = None) -> InForce:
    """Return the weights in force.

    Parameters
    ----------
    given : DataFrame, Path, str or None
        A table with the columns ``sign``, ``cause``, ``present``, ``absent`` [decibans], or the
        CSV file that holds it: the rows to change.

    Raises
    ------
    InputError
        When it can't be used; rows of a DataFrame are counted from 1.
    """
    signs = all_signs()
    built_in = whole_table(weights_table(signs), all_causes())
    if given is None:
        return InForce(built_in, None)
    if isinstance(given, pd.DataFrame):
        rows, name, file = given.set_axis(range(1, len(given) + 1)), FROM_PYTHON, None
    else:
        # Letters that can't be shown or written, such as half characters of another code page.
        rows, name = read_weights(Path(given)), Path(given).name
        file = name = "".join(letter if letter.isprintable() else "?" for letter in name)
    keys = [sign.key for sign in signs]
    table, count = changed(built_in, rows, signs=keys, name=name, file=file)
    return InForce(table, WeightsChange(name, count))
