"""Label columns as plain words."""

import pandas as pd


def text_of(column: pd.Series) -> pd.Series:
    """Return a label column as text, shape (n,); '' where a row has none.

    A categorical turned to text keeps its blanks, and a blank is no word to search in.
    """
    return column.astype(object).fillna("").astype(str)
