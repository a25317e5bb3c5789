import numpy as np
import pandas as pd
import pytest

from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.tables.diagnosis import CALIBRATION_COLUMNS
from alarmsift.tables.site import Site
from tests.ten_rows import at, logs_of

HEADER = "time action gas value reference\n"


def ledger(rows, site=None):
    return calibration_ledger(logs_of({"operations": HEADER + rows}, site))


def test_error_is_as_found_less_reference():
    found = ledger("""
        1:00 zero_check HC 2.0 -
        1:10 span_check HC 45  50
    """)
    assert found["check"].tolist() == ["zero_check", "span_check"]
    assert found["error"].tolist() == [2.0, -5.0]
    assert found["as_found"].tolist() == [2.0, 45.0]
    assert found["as_left"].isna().all()


def test_adjustment_says_what_was_left_and_has_no_error():
    found = ledger("1:00 zero_adjust HC 0 -")
    assert found["as_left"].tolist() == [0.0]
    assert found["as_found"].isna().all()
    assert found["error"].isna().all()


def test_drift_is_the_error_over_the_days_since_the_last_adjustment_of_its_kind():
    found = ledger("""
        0:00   zero_adjust HC  0   -
        0:20   span_adjust HC  50  50
        240:00 zero_check  HC  3.0 -
        240:10 zero_check  H2S 1.0 -
        480:00 zero_check  HC  5.0 -
        480:20 span_check  HC  48  50
    """)
    per_day = found["drift_per_day"].tolist()
    assert per_day[2] == pytest.approx(0.3)  # 3 %LFL in 10 days
    assert np.isnan(per_day[3])  # the other gas was never adjusted
    assert per_day[4] == pytest.approx(0.25)  # 5 %LFL in 20 days
    assert per_day[5] == pytest.approx(-0.1, rel=1e-2)  # -2 %LFL in 20 days


def test_minutes_after_an_adjustment_no_drift_is_stated():
    found = ledger("""
        0:00 zero_adjust HC 0   -
        0:30 zero_check  HC 0.5 -
    """)
    assert found["drift_per_day"].isna().all()


def test_next_is_due_after_a_month_or_as_the_site_says():
    # Monthly: IMO MSC.1/Circ.1370, 4.1.1.
    assert ledger("1:00 zero_check HC 0 -")["due"][0] == at("1:00") + pd.Timedelta(days=30)
    site = Site(calibration_days=7.0)
    assert ledger("1:00 zero_check HC 0 -", site)["due"][0] == at("1:00") + pd.Timedelta(days=7)


def test_other_actions_are_no_calibration():
    found = ledger("1:00 purge - - -\n2:00 disconnect - - -")
    assert found.empty
    assert list(found) == CALIBRATION_COLUMNS


def test_no_operations_log():
    assert list(calibration_ledger(logs_of({}))) == CALIBRATION_COLUMNS
