"""``import alarmsift``: the names that other programs rely on."""

from __future__ import annotations

import importlib
import inspect

import pandas as pd
import pytest

import alarmsift

NAMES = {
    "AlarmsiftError",
    "Diagnosis",
    "Drift",
    "InputError",
    "Logs",
    "OutputError",
    "PackOptions",
    "__version__",
    "change_points",
    "diagnose",
    "drift",
    "pack_incident",
    "read_logs",
    "verify_pack",
    "study_setpoints",
    "write_report",
}


def test_the_public_names_are_these_and_no_more():
    assert set(alarmsift.__all__) == NAMES
    assert list(alarmsift.__all__) == sorted(alarmsift.__all__)
    assert set(dir(alarmsift)) >= NAMES


@pytest.mark.parametrize("name", sorted(NAMES - {"__version__"}))
def test_every_name_comes_from_the_file_that_defines_it_and_is_explained(name):
    made = getattr(alarmsift, name)
    assert getattr(importlib.import_module(made.__module__), name) is made
    assert inspect.getdoc(made)


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'sift'"):
        alarmsift.sift  # noqa: B018


def test_read_diagnose_write_from_python(ship, tmp_path):
    logs = alarmsift.read_logs(ship)
    assert isinstance(logs, alarmsift.Logs)
    diagnosis = alarmsift.diagnose(logs)
    assert isinstance(diagnosis, alarmsift.Diagnosis)
    for name in ("episodes", "conditions", "coverage", "calibration"):
        assert isinstance(getattr(diagnosis, name), pd.DataFrame)
    for name in ("possible_gas", "rules", "alarm_load", "alarm_tags"):
        assert len(getattr(diagnosis, name))
    signs = diagnosis.signs(diagnosis.episodes.loc[0, "episode"])
    assert len(signs)
    alarmsift.write_report(diagnosis, tmp_path / "rep")  # a text path will do as well
    assert (tmp_path / "rep" / "index.html").is_file()


def test_steps_and_drift_from_python():
    assert alarmsift.change_points([0.0, 0.1] * 10 + [9.0, 9.1] * 10) == [20]
    found = alarmsift.drift([0.0, 1.0, 2.0, 3.0, 4.0, 5.0], [0.0, 1.0, 2.0, 3.0, 4.0, 5.0], [])
    assert isinstance(found, alarmsift.Drift)
    assert found.slope == pytest.approx(1.0)
