from pathlib import Path

import pytest
from report_fixture import make_diagnosis, nothing_at_all

from alarmsift.report.folder import write_report
from alarmsift.tables.diagnosis import Diagnosis


@pytest.fixture(scope="session")
def diagnosis() -> Diagnosis:
    return make_diagnosis()


@pytest.fixture(scope="session")
def report(diagnosis, tmp_path_factory) -> Path:
    return write_report(diagnosis, tmp_path_factory.mktemp("full") / "report")


@pytest.fixture(scope="session")
def bare_report(tmp_path_factory) -> Path:
    return write_report(nothing_at_all(), tmp_path_factory.mktemp("bare") / "report")
