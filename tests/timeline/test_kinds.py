"""Words by which ships name their spaces: common practice, no source."""

import pytest

from alarmsift.tables.schema import TABLES
from alarmsift.tables.schema import empty as empty_table
from alarmsift.timeline.kinds import kinds_of
from tests.ten_rows import table

NO_TABLE = empty_table(TABLES["points"])


@pytest.mark.parametrize(
    ("kind", "names"),
    [
        ("ballast", ("WBT 3P", "No.1 W.B.T. (P) U", "BALLAST 2 STBD", "DBT4", "B.T. 5", "D.B. 2C")),
        ("ballast", ("FORE PEAK", "Aft Peak Tank", "F.P.T.", "APT", "WING TANK 4S")),
        ("pump_room", ("PUMP ROOM", "Pump Rm 2", "P/R BILGE", "P.RM LOWER", "pumproom")),
        ("void", ("VOID 1", "Void Space Fwd")),
        ("cofferdam", ("COFFERDAM F", "C/D AFT", "coff. 2")),
        ("duct_keel", ("DUCT KEEL", "Pipe Tunnel P")),
        ("cabinet", ("CABINET", "Fresh Air", "REF", "Analyser house", "ANALYZER", "OUTSIDE AIR")),
        ("", ("A", "SP12", "BOSUN STORE", "PAINT LOCKER", "")),
    ],
)
def test_kind_is_told_by_the_words_of_the_trade(kind, names):
    assert dict(zip(names, kinds_of(names, NO_TABLE), strict=True)) == dict.fromkeys(names, kind)


def test_pump_room_is_not_taken_for_a_tank_by_another_word_in_its_name():
    # It airs many times faster than a tank: the wrong kind would dismiss gas as too quick.
    assert kinds_of(("BALLAST PUMP ROOM", "PUMP ROOM VOID SIDE"), NO_TABLE).tolist() == [
        "pump_room",
        "pump_room",
    ]


def test_stated_kind_goes_before_the_name():
    stated = table("points", 'point kind\n"VOID 1" ballast\n"WBT 2P" other')
    assert kinds_of(("VOID 1", "WBT 2P"), stated).tolist() == ["ballast", "other"]


def test_name_tells_where_the_table_states_no_kind():
    stated = table("points", 'point kind\n"VOID 1" -\nA void')
    found = kinds_of(("WBT 2P", "VOID 1", "A"), stated)
    assert found.tolist() == ["ballast", "void", "void"]


def test_first_row_of_a_point_counts():
    stated = table("points", "point kind\nA void\nA ballast")
    assert kinds_of(("A",), stated).tolist() == ["void"]


def test_no_points():
    assert kinds_of((), NO_TABLE).shape == (0,)
