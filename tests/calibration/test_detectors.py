import numpy as np
import pandas as pd
import pytest

from alarmsift.calibration.detectors import detector_table
from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.tables.diagnosis import DETECTOR_COLUMNS
from alarmsift.tables.site import Site
from tests.ten_rows import START, logs_of

HEADER = "time action gas value reference\n"
NO_ZEROS = pd.DataFrame(
    {"time": pd.to_datetime([], utc=True), "analyser": [], "gas": [], "zero": []}
)


def zeros_of(values, gas="HC", analyser=""):
    days = np.arange(len(values)) + 0.5
    times = START + pd.to_timedelta(days, unit="D")
    return pd.DataFrame({"time": times, "analyser": analyser, "gas": gas, "zero": values})


def detectors(rows, zeros=NO_ZEROS, *, days=40.0, site=None):
    logs = logs_of({"operations": HEADER + rows}, site)
    ends = (START, START + pd.Timedelta(days=days))
    table = detector_table(logs, calibration_ledger(logs, zeros), zeros, ends=ends)
    return table.set_index(["detector", "kind"])


def test_check_that_is_overdue_is_named_with_the_published_interval():
    # Monthly: IMO MSC.1/Circ.1370, 4.1.1.
    found = detectors("0:00 zero_check HC 0 -\n240:00 span_check HC 50 50").loc["HC"]
    assert found["overdue_days"]["zero"] == pytest.approx(10.0)
    assert np.isnan(found["overdue_days"]["span"])
    assert "10 days overdue (monthly and after any fault by IMO MSC.1" in found["why"]["zero"]
    assert found["due"]["span"] == START + pd.Timedelta(days=40)


def test_detector_that_was_never_checked_is_overdue():
    found = detectors("0:00 zero_check HC 0 -").loc[("HC", "span")]
    assert (found["checks"], found["overdue_days"]) == (0, pytest.approx(10.0))
    assert "no span check stands in the logs" in found["why"]


def test_steady_drift_is_foreseen_where_the_straight_line_meets_the_limit():
    rng = np.random.default_rng(3)
    noisy = 0.1 * (np.arange(20) + 0.5) + rng.normal(0, 0.05, 20)
    found = detectors("0:00 zero_adjust HC 0 -", zeros_of(noisy), days=20).loc[("HC", "zero")]
    assert (found["forecast"], found["basis"]) == ("expected", "readings")
    assert found["slope"] == pytest.approx(0.1, abs=0.005)
    assert abs(found["crosses"] - (START + pd.Timedelta(days=30))) < pd.Timedelta(days=1)
    assert found["crosses_low"] < found["crosses"] < found["crosses_high"]


def test_days_before_an_adjustment_do_not_lift_what_is_foreseen_after_it():
    before, after = 0.1 * np.arange(15), 0.1 * np.arange(15)
    zeros = zeros_of(np.concatenate([before, after]) + np.tile([0.03, -0.03], 15))
    found = detectors("360:00 zero_adjust HC 0 -", zeros, days=30).loc[("HC", "zero")]
    assert found["slope"] == pytest.approx(0.1, abs=0.005)
    assert abs(found["crosses"] - (START + pd.Timedelta(days=45.5))) < pd.Timedelta(days=1)


def test_nothing_is_foreseen_right_after_an_adjustment():
    zeros = zeros_of(0.1 * np.arange(20))
    found = detectors("480:30 zero_adjust HC 0 -", zeros, days=20.1).loc[("HC", "zero")]
    assert found["forecast"] == "no_data"
    assert pd.isna(found["crosses"])


def test_zero_beyond_tolerance_has_no_day_ahead():
    found = detectors("0:00 zero_adjust HC 0 -", zeros_of(0.4 * np.arange(20.0)), days=20)
    assert found.loc[("HC", "zero"), "forecast"] == "passed"
    assert "it stands at +7.8, beyond the 3 %LFL allowed" in found.loc[("HC", "zero"), "why"]


def test_span_that_fades_between_adjustments_is_foreseen_from_its_checks():
    # 4 % of the span gas lost every 20 days: ten per cent are gone 50 days after an adjustment.
    rows = "".join(
        f"{480 * i}:00 span_check HC {48 - 0.02 * (-1) ** i} 50\n"
        f"{480 * i}:05 span_adjust HC 50 50\n"
        for i in range(1, 6)
    )
    found = detectors(rows + "2880:00 span_check HC 48 50", days=120).loc[("HC", "span")]
    assert found["slope"] == pytest.approx(-0.2, abs=0.01)
    assert abs(found["crosses"] - (START + pd.Timedelta(days=150))) < pd.Timedelta(days=4)


def test_slope_of_two_values_has_no_interval():
    found = detectors("0:00 zero_adjust HC 0 -\n240:00 zero_check HC 1 -").loc[("HC", "zero")]
    assert found["slope"] == pytest.approx(0.1)
    assert np.isnan([found["slope_low"], found["slope_high"]]).all()


def test_two_analysers_are_kept_apart():
    header = "time action gas value reference note\n"
    rows = '0:00 zero_check HC 1 - "analyser fwd"\n1:00 zero_check HC 5 - "analyser aft"'
    logs = logs_of({"operations": header + rows}, Site())
    table = detector_table(
        logs, calibration_ledger(logs), NO_ZEROS, ends=(START, START + pd.Timedelta(days=1))
    )
    zero = table[table["kind"] == "zero"].set_index("detector")
    assert zero["out"].to_dict() == {"HC (aft)": 1, "HC (fwd)": 0}


def test_no_log_no_detector():
    logs = logs_of({})
    table = detector_table(logs, calibration_ledger(logs), NO_ZEROS, ends=(START, START))
    assert list(table) == DETECTOR_COLUMNS
    assert table.empty
