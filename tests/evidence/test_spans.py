import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from alarmsift.evidence.blocks import block_medians
from alarmsift.evidence.shorth import shorth
from alarmsift.evidence.spans import running_median, spans_where
from alarmsift.timeline.visits import build_visits
from tests.ten_rows import history, logs_of

HOURS = np.arange(10.0)


def spans(flags, **more):
    flag = np.array([c == "x" for c in flags])
    settings = {"close": 0.0, "shortest": 0.0} | more
    return spans_where(np.arange(float(len(flag))), flag, **settings).tolist()


def test_span_ends_where_the_state_is_first_gone():
    assert spans("..xxx.....") == [[2.0, 5.0]]


def test_short_gap_is_closed_and_a_long_one_is_not():
    assert spans("xx.xx...xx", close=2.0) == [[0.0, 5.0], [8.0, np.inf]]


def test_short_spell_is_dropped():
    assert spans("x...xxxx..", shortest=2.0) == [[4.0, 8.0]]


def test_state_at_the_last_row_has_no_end():
    assert spans(".....xxxxx") == [[5.0, np.inf]]
    assert spans(".....xxxxx", open_end=False) == [[5.0, 9.0]]


def test_never_gives_no_span():
    assert spans("..........") == []
    assert spans("") == []


@given(st.lists(st.booleans(), min_size=1, max_size=40))
def test_spans_hold_every_flagged_hour_and_no_other(flags):
    flag = np.array(flags)
    hours = np.arange(float(len(flag)))
    inside = np.zeros(len(flag), bool)
    for start, end in spans_where(hours, flag, close=0.0, shortest=0.0):
        inside |= (hours >= start) & (hours < end)
    assert (inside == flag).all()


@given(st.lists(st.booleans(), min_size=1, max_size=40), st.floats(0, 10))
def test_closing_gaps_never_loses_a_flagged_hour(flags, close):
    flag = np.array(flags)
    hours = np.arange(float(len(flag)))
    inside = np.zeros(len(flag), bool)
    for start, end in spans_where(hours, flag, close=close, shortest=0.0):
        inside |= (hours >= start) & (hours < end)
    assert (inside >= flag).all()


def test_running_median_leaves_blanks_out():
    found = running_median(np.array([1.0, 9.0, np.nan, 3.0, 4.0]), 3)
    assert found.tolist() == [5.0, 5.0, 6.0, 3.5, 3.5]


def test_shorth_is_where_most_values_stand():
    assert shorth(np.array([1.0, 1.1, 1.0, 0.9, 7.0, 8.0])) == pytest.approx(1.0, abs=0.06)
    assert np.isnan(shorth(np.array([np.nan])))


def test_block_median_of_six_visits():
    values = {("A", "HC"): np.array([1.0, 2.0, 9.0, 3.0, 4.0, 2.0, 5.0, 5.0])}
    visits = build_visits(logs_of({"readings": history(values)}))  # 20 min rounds, blocks of 2 h
    blocks = block_medians(visits, visits.value["HC"], np.ones(len(visits), bool))
    assert blocks.width == 2.0
    assert blocks.median.tolist() == [[2.5], [5.0]]
    assert blocks.hours.tolist() == [1.0, 3.0]
