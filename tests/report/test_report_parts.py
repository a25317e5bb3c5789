"""The parts of a report one by one."""

import dataclasses
import doctest
import importlib
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from report_fixture import NASTY, at, make_diagnosis, nothing_at_all

import alarmsift.report
from alarmsift.report.axis import Window, tick_labels, tick_places
from alarmsift.report.bouts import bouts_of, zoom_windows
from alarmsift.report.day_picture import day_panels
from alarmsift.report.envelope import envelope, merge_spans
from alarmsift.report.page_names import page_names
from alarmsift.report.point_series import whole_window
from alarmsift.report.terminal import table
from alarmsift.report.urgent import clean_since, urgent_items
from alarmsift.report.words import CAUSES, CONDITIONS, REASON_GROUPS, REASONS, TREAT_AS
from alarmsift.tables import schema
from alarmsift.tables.clock import ShipClock

MODULES = sorted(p.stem for p in Path(alarmsift.report.__file__).parent.glob("[a-z]*.py"))


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_the_docstrings_hold(name):
    assert doctest.testmod(importlib.import_module(f"alarmsift.report.{name}")).failed == 0


def test_importing_the_entries_loads_neither_matplotlib_nor_jinja2():
    code = (
        "import sys, alarmsift.report.folder, alarmsift.report.terminal, alarmsift.report.place;"
        "sys.exit(any(n in sys.modules for n in ('matplotlib', 'jinja2')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# --- words and looks ---


def luminance(colour: str) -> float:
    """Relative luminance of sRGB, WCAG 2.1, definition "relative luminance"."""
    parts = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    linear = np.where(parts <= 0.03928, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_luminance_of_white_and_black_is_as_defined():
    assert (luminance("#ffffff"), luminance("#000000")) == (pytest.approx(1.0), 0.0)


@pytest.mark.parametrize("cause", CAUSES)
def test_letters_stand_out_from_their_fill(cause):
    # WCAG 2.1, success criterion 1.4.3: contrast of at least 4.5 to 1.
    look = CAUSES[cause]
    low, high = sorted([luminance(look.colour), luminance(look.ink)])
    assert (high + 0.05) / (low + 0.05) >= 4.5


def test_every_cause_has_its_own_letter_and_gas_is_darkest_in_grey():
    assert set(CAUSES) == {*schema.CAUSES, schema.UNDETERMINED}
    assert len({look.letter for look in CAUSES.values()}) == len(CAUSES)
    assert min(CAUSES, key=lambda cause: luminance(CAUSES[cause].colour)) == "gas"


def test_conditions_and_reasons_all_have_words():
    assert set(CONDITIONS) == set(schema.CONDITIONS)
    assert {group for _, _, group in REASONS.values()} == set(REASON_GROUPS)
    assert set(TREAT_AS) == {"gas", "nuisance", "unresolved", "unwatched"}


# --- thinning ---


@given(
    st.lists(st.floats(-100, 100) | st.just(float("nan")), min_size=1, max_size=300),
    st.integers(2, 20),
)
def test_thinning_keeps_lowest_and_highest_value_in_place(values, bins):
    value, time = np.array(values), np.arange(len(values), dtype=float)
    out = envelope(time, value, bins=bins, gap=np.inf)
    good = np.isfinite(value)
    assert out.value.size <= max(2 * bins, good.sum() if not out.thinned else 0)
    if good.any():
        assert np.nanmax(out.value) == np.nanmax(value)
        assert np.nanmin(out.value) == np.nanmin(value)
        assert np.isin(out.time, time).all()


def test_a_single_high_visit_among_a_million_stays_visible():
    value = np.zeros(1_000_000)
    value[654_321] = 58.0
    out = envelope(np.arange(value.size, dtype=float), value, bins=400, gap=np.inf)
    assert out.time[out.value == 58.0].tolist() == [654_321.0]


def test_the_line_breaks_where_nothing_was_read():
    out = envelope(np.array([0.0, 1.0, 9.0]), np.ones(3), bins=10, gap=2.0)
    assert np.isnan(out.value).tolist() == [False, False, True, False]


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 9), st.sampled_from("ab"))))
def test_merged_spans_cover_what_they_were_made_of(spans):
    start = np.array([s for s, _, _ in spans], dtype=float)
    end = start + np.array([n for _, n, _ in spans], dtype=float)
    group = np.array([g for _, _, g in spans], dtype=str)
    a, b, g = merge_spans(start, end, group, gap=1.0)
    for s, e, name in zip(start, end, group, strict=True):
        assert ((a <= s) & (b >= e) & (g == name)).sum() == 1


# --- time axis ---


def test_ticks_stand_at_round_ships_time_with_utc_beneath():
    clock, start = ShipClock("UTC+3"), 0.5
    window = Window(start, start + 48)
    places = tick_places(window, clock)
    assert np.allclose((places + 3) % 6, 0)
    assert tick_labels(places, window, clock)[0] == "01 Jan 06:00\n03:00 UTC"


@given(st.floats(1, 20000), st.floats(0, 400000))
def test_there_are_never_many_ticks(length, start):
    assert tick_places(Window(start, start + length), ShipClock()).size <= 10


# --- names of pages ---


def test_page_names_are_safe_and_unique():
    points = pd.DataFrame({"point": ["A/B", "a b", "<>", "CON"], "page": [np.nan, "", "", "con"]})
    assert list(page_names(points).values()) == ["a-b", "a-b-2", "point", "con-point"]


def test_a_page_name_cannot_climb_out_of_the_folder():
    points = pd.DataFrame({"point": ["x"], "page": ["../../evil.html"]})
    assert page_names(points) == {"x": "evil"}


# --- bouts ---


def test_gravest_bout_comes_first_and_its_likeliest_gas_speaks(diagnosis):
    mine = diagnosis.episodes[diagnosis.episodes["point"] == NASTY]
    bouts = bouts_of(mine, whole_window(diagnosis), most=6)
    assert [(bout.key, bout.count) for bout in bouts] == [("B0003", 2), ("B0004", 1)]
    assert bouts[0].episode["level"] == "low"


def test_zooms_stay_in_the_period_and_differ(diagnosis):
    window = whole_window(diagnosis)
    mine = diagnosis.episodes[diagnosis.episodes["point"] == "PUMP ROOM / A"]
    zooms = [zoom for zoom, _ in zoom_windows(bouts_of(mine, window, most=20), window, most=4)]
    assert len(zooms) == 3  # one of gas, two of others
    assert all(window.start <= z.start < z.end <= window.end for z in zooms)
    assert len(set(zooms)) == 3


# --- what needs a person ---


def kinds(items):
    return [(item.group, item.where) for item in items]


def test_order_is_gas_then_unwatched_then_growing(diagnosis):
    pages = page_names(diagnosis.points)
    assert kinds(urgent_items(diagnosis, pages)) == [
        ("gas", NASTY),
        ("gas", "PUMP ROOM / A"),
        ("unwatched", "VOID 4"),
        ("growing", "detector HC"),
    ]


def test_a_nuisance_cut_off_by_a_disconnect_needs_a_person_until_a_clean_reading():
    full = make_diagnosis(days=6, minutes=60)
    episodes = full.episodes.copy()
    one = episodes.index[episodes["cause"] == "spike"][0]
    episodes.loc[one, "ended_by"] = "disconnect"
    cleared = episodes.loc[one, "cleared"]
    cut = dataclasses.replace(full, episodes=episodes)
    pages = page_names(cut.points)
    assert ("cut_off", "WBT 2 P") not in kinds(urgent_items(cut, pages))
    blind = cut.visits[(cut.visits["point"] != "WBT 2 P") | (cut.visits["time"] <= cleared)]
    cut = dataclasses.replace(cut, visits=blind)
    assert ("cut_off", "WBT 2 P") in kinds(urgent_items(cut, pages))


def test_a_reading_under_a_raised_setpoint_only_is_not_clean():
    full = make_diagnosis(days=4, minutes=60)
    visits = full.visits.assign(HC=18.0)
    raised = dataclasses.replace(full, visits=visits)
    assert clean_since(raised, "WBT 2 P", "HC", at(1))
    limits = full.setpoints.assign(deadband=3.0)
    assert not clean_since(dataclasses.replace(raised, setpoints=limits), "WBT 2 P", "HC", at(1))
    none = dataclasses.replace(raised, setpoints=full.setpoints.iloc[:0])
    assert not clean_since(none, "WBT 2 P", "HC", at(1))


def test_missing_rows_alone_do_not_make_a_point_unwatched_now():
    full = make_diagnosis(days=6, minutes=60)
    coverage = full.coverage.iloc[:1].assign(reason="no_log", start=at(100), end=at(150))
    quiet = dataclasses.replace(full, coverage=coverage, conditions=full.conditions.iloc[:0])
    found = urgent_items(quiet, page_names(quiet.points))
    assert "unwatched" not in [item.group for item in found]


# --- day by day ---


def test_each_day_shows_the_gravest_alarm_and_the_unwatched_share(diagnosis):
    pages = page_names(diagnosis.points)
    times = pd.Series([at(0), at(30 * 24 - 1)])
    (panel,) = day_panels(diagnosis, pages, times)
    rows = {row.point: row for row in panel.rows}
    letters = {cell.look.letter for cell in rows[NASTY].cells if cell.look}
    assert letters == {"G", "?"}
    assert all(cell.grave for cell in rows[NASTY].cells if cell.look)
    assert any(cell.unwatched == "line" and cell.share == 1.0 for cell in rows["VOID 4"].cells)


def test_a_year_is_cut_into_quarters(diagnosis):
    panels = day_panels(diagnosis, page_names(diagnosis.points), pd.Series([at(0), at(24 * 364)]))
    assert len(panels) == 4
    assert all(panel.cell >= 8 for panel in panels)


# --- terminal ---


def test_terminal_table_fits_and_every_sign_is_in_code_page_1252(diagnosis):
    odd = diagnosis.points.assign(headline="Fell by −3 %LFL → clean ✓ " * 4)
    text = table(dataclasses.replace(diagnosis, points=odd))
    assert max(map(len, text.splitlines())) <= 110
    assert text.encode("cp1252").decode("cp1252") == text
    assert "VOID 4" in text
    assert "detector HC" in text
    assert "no permit to enter" in text


def test_terminal_table_counts_alarms_by_how_to_treat_them(diagnosis):
    (row,) = [line for line in table(diagnosis).splitlines() if line.startswith("WBT 2 P")]
    assert row.split()[3:7] == [".", ".", "7", "."]


def test_terminal_table_of_nothing_is_only_a_head():
    assert table(nothing_at_all()).splitlines()[0].startswith("Point")
