import pyarrow as pa
import pytest

from alarmsift.reading import sheet
from alarmsift.reading.sheet import encode


@pytest.mark.parametrize(
    "blocks",
    [
        [["a", "a", "b"], ["b", "c"], ["d", "d"]],  # a time whose rows two blocks share
        [["a", "b"], ["b", "b"], ["b"], ["b", "c"]],  # and one that fills whole blocks
        [["b", "a"], ["c", "b", "d"]],  # not in order: texts come again
        [["b", "c", "a"], ["d", "c"], ["c", "e"]],
        [["a", ""], ["b"]],
        [[], ["a"], [], ["a", "b"]],
        [["a"]],
    ],
)
def test_column_read_in_blocks_is_the_column(blocks, monkeypatch):
    monkeypatch.setattr(sheet, "_MANY", 1)
    kind = pa.dictionary(pa.int32(), pa.string())
    column = encode(
        pa.chunked_array([pa.array(b, pa.string()).dictionary_encode() for b in blocks], kind)
    )
    texts = column.texts.to_pylist()
    assert [texts[code] for code in column.codes] == [text for block in blocks for text in block]
    assert len(set(texts)) == len(texts)
