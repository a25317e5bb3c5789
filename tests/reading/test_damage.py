"""Damaged files give a table or a message; the books add up whatever happened."""

from __future__ import annotations

import pytest

from alarmsift.errors import InputError
from alarmsift.reading.describe import describe
from alarmsift.reading.folder import read_logs
from tests.reading.conftest import adds_up, write
from tests.reading.mutations import damaged, originals

# Hundreds of log folders: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

FOLDERS = originals()


@pytest.mark.parametrize("seed", range(100))
def test_damaged_files_give_a_table_or_a_message(tmp_path, seed: int) -> None:
    write(tmp_path, damaged(FOLDERS[seed % len(FOLDERS)], seed))
    try:
        logs = read_logs(tmp_path)
    except InputError as error:
        assert len(str(error)) < 4000
        return
    assert adds_up(logs)
    assert logs.ledger.files["accepted"].sum() > 0
    describe(logs).encode("cp1252")
