import numpy as np
import pandas as pd
import pytest

from alarmsift.calibration.ledger import calibration_ledger
from alarmsift.tables.diagnosis import LEDGER_COLUMNS
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
    assert list(found) == LEDGER_COLUMNS


def test_no_operations_log():
    assert list(calibration_ledger(logs_of({}))) == LEDGER_COLUMNS


BASIS = "time action gas value reference basis_vol_percent\n"


def test_error_beyond_tolerance_is_out_and_puts_the_readings_in_doubt():
    found = ledger("""
        1:00 zero_check HC  2.9 -
        1:10 zero_check H2S 1.6 -
        1:20 span_check HC  46  50
        1:30 span_check HC  44.9  50
    """)
    assert found["verdict"].tolist() == ["within", "out", "within", "out"]
    assert "in doubt" in found["why"][3]
    assert found["tolerance"].tolist() == [3.0, 1.5, 5.0, 5.0]


def test_sensitivity_takes_out_the_zero_of_the_same_round():
    found = ledger("1:00 zero_check HC 1.5 -\n1:10 span_check HC 46 50\n99:00 span_check HC 46 50")
    assert found["sensitivity"][1] == pytest.approx(0.89)
    assert np.isnan(found["sensitivity"][2])  # nobody looked at the zero that day


def test_span_gas_on_another_basis_is_told_with_what_it_really_holds():
    # Propane: 2.1 %vol by NFPA 497, 1.7 by IEC 60079-20-1. Set with it, a detector reads x .80952.
    operations = BASIS + "1:00 span_adjust HC 50 50 2.1\n2:00 span_check HC 50 50 1.7"
    found = calibration_ledger(logs_of({"operations": operations}, Site(lfl=("propane", 1.7))))
    assert found["reference_true"][0] == pytest.approx(61.7647, abs=5e-5)
    assert found["error"][1] == 0.0
    assert found["verdict"].tolist() == ["out", "within"]
    assert "61.7647" in found["why"][0]
    assert "x 0.80952 (19% too low, the unsafe side)" in found["why"][0]


def test_several_bases_and_none_said_to_be_the_ships_settle_nothing():
    operations = BASIS + "1:00 span_check HC 50 50 2.1\n2:00 span_check HC 50 50 1.7"
    found = calibration_ledger(logs_of({"operations": operations}))
    assert found["verdict"].tolist() == ["not_valid", "not_valid"]
    assert "[lfl] in site.toml" in found["why"][0]


def test_cylinder_out_of_date_voids_the_check():
    operations = (
        "time action gas value reference cylinder expiry\n"
        "1:00 span_check HC 50 50 C1 2026-02-28\n"
        "1:10 span_check HC 50 50 C2 2026-03-01\n"
        "1:20 span_check HC 50 50 C3 2026-03\n"
        "1:30 span_check HC 50 50 C4 soon"
    )
    found = calibration_ledger(logs_of({"operations": operations}))
    assert found["verdict"].tolist() == ["not_valid", "within", "within", "within"]
    assert "the cylinder C1 was out of date (2026-02-28)" in found["why"][0]


def test_span_set_before_the_zero_leaves_the_span_short():
    # zero 1.5, span gas of 50 shows 46: setting it to 50 makes the zero 1.6304, and 48.370 is left
    found = ledger("""
        1:00 span_check  HC 46 50
        1:05 span_adjust HC 50 50
        1:10 zero_check  HC 1.6304 -
        1:15 zero_adjust HC 0 -
    """)
    assert "reads off by -1.63: zero first, then span" in found["why"][1]


def test_check_that_came_late_says_how_late():
    found = ledger("0:00 zero_check HC 0 -\n960:00 zero_check HC 0 -\n970:00 zero_check HC 0 -")
    assert found["late_days"].fillna(0.0).tolist() == [0.0, 10.0, 0.0]


def test_adjustment_holds_until_the_next_is_due_or_not():
    found = ledger("""
        0:00    zero_adjust HC 0   -
        240:00  zero_check  HC 4.0 -
        240:10  zero_adjust HC 0   -
        960:20  zero_check  HC 1.0 -
        960:30  zero_adjust HC 0   -
    """)
    adjusted = found[found["as_left"].notna()]
    assert adjusted["held"].tolist() == ["did_not_hold", "held", "too_early"]
    assert adjusted["held_days"].iloc[0] == pytest.approx(10.0)


def test_readings_tell_sooner_than_the_next_check_that_a_zero_did_not_hold():
    days = np.arange(8) + 0.5
    zeros = pd.DataFrame(
        {
            "time": at("0:00") + pd.to_timedelta(days, unit="D"),
            "analyser": "",
            "gas": "HC",
            "zero": [0, 1, 2, 2.9, 3.1, 3.4, 3.8, 4.0],
        }
    )
    logs = logs_of({"operations": HEADER + "0:00 zero_adjust HC 0 -"})
    found = calibration_ledger(logs, zeros)
    assert found["held"].tolist() == ["did_not_hold"]
    assert found["held_days"][0] == pytest.approx(5.5)  # two days in a row


@pytest.mark.parametrize("name", ["fwd", "aft"])
def test_detectors_of_two_analysers_do_not_share_an_adjustment(name):
    rows = f'0:00 zero_adjust HC 0 - "analyser fwd"\n240:00 zero_check HC 3 - "analyser {name}"'
    logs = logs_of({"operations": "time action gas value reference note\n" + rows})
    per_day = calibration_ledger(logs)["drift_per_day"][1]
    assert per_day == pytest.approx(0.3) if name == "fwd" else np.isnan(per_day)
