"""Logs in which the readings say nothing: a warning would fail these tests."""

import numpy as np
import pytest

from alarmsift.pipeline.diagnose import diagnose
from tests.ten_rows import SETPOINTS, history, logs_of, quiet

# Whole diagnoses of whole ships: other tests cover the same lines, and the tracer costs half again.
pytestmark = pytest.mark.no_cover

OPERATIONS = """
time action       gas value reference
3:00 zero_check   HC  0.5   -
4:00 span_check   HC  40    50
"""


@pytest.mark.parametrize("status", ["fault", "not_sampled", "over_range", "test"])
@pytest.mark.parametrize("gases", [["HC"], ["HC", "H2S"]])
@pytest.mark.parametrize("tables", [{}, {"operations": OPERATIONS, "setpoints": SETPOINTS}])
def test_readings_without_a_value_are_diagnosed_in_silence(status, gases, tables):
    readings = history(quiet(("A", "B", "C"), 40, gases=("HC", "H2S")))
    blank = readings["gas"].isin(gases)
    readings["status"] = np.where(blank, status, "ok")
    readings["status"] = readings["status"].astype("category")
    readings.loc[blank, "value"] = np.nan
    said = diagnose(logs_of({"readings": readings, **tables}))
    assert not len(said.episodes)
    if status != "test" and not tables:
        assert any("HC: there is no valid reading" in line for line in said.learnt)
