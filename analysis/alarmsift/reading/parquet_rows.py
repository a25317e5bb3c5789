"""Parquet tables, as texts like any other file, so that all files go the same way."""

from __future__ import annotations

import io

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from alarmsift.reading.disk import Unusable
from alarmsift.reading.sheet import Sheet, TextColumn, encode


def read_parquet(data: bytes, file: str) -> Sheet:
    """Return a parquet file as a sheet; row 2 is its first row, as if it had a header line."""
    try:
        table = pq.read_table(io.BytesIO(data))
    except (pa.ArrowException, OSError, ValueError) as error:
        raise Unusable("is damaged: it can't be read as parquet") from error
    columns = [_texts(table.column(number)) for number in range(table.num_columns)]
    lines = np.arange(table.num_rows, dtype=np.int64) + 2
    return Sheet(file, list(table.column_names), columns, lines, encoding="parquet")


def _texts(column: pa.ChunkedArray) -> TextColumn:
    """Return a column as distinct texts; NaN is blank."""
    if not len(column) or pa.types.is_null(column.type):
        # Arrow joins no empty or all-blank dictionaries of every kind.
        column = pa.chunked_array([pa.nulls(len(column), pa.string())])
    if not pa.types.is_dictionary(column.type):
        column = column.dictionary_encode()
    whole = column.unify_dictionaries().combine_chunks()
    if isinstance(whole, pa.ChunkedArray):
        whole = pa.concat_arrays(whole.chunks) if whole.num_chunks else whole
    try:
        texts = pc.cast(whole.dictionary, pa.string())
    except (pa.ArrowException, AttributeError):
        texts = pa.array([str(value) for value in whole.dictionary.to_pylist()], pa.string())
    if pa.types.is_floating(whole.dictionary.type):
        texts = pc.if_else(pc.is_nan(whole.dictionary), "", texts)
    return encode(pa.DictionaryArray.from_arrays(whole.indices, texts))
