"""Makes the pictures of the detectors: zero, checks, what is foreseen."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd

from alarmsift.report.axis import Window
from alarmsift.report.check_plot import draw_checks
from alarmsift.report.detector_names import checks_of, detector_names, gas_and_analyser
from alarmsift.report.detector_plot import draw_detector
from alarmsift.report.forecast_plot import draw_forecast
from alarmsift.report.inline import inline_svg
from alarmsift.report.point_page import Plot
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.tables.schema import GAS_UNITS

ZERO = (
    "Shared zero, checks and adjustments",
    "Shared zero of detector {name} over time with its range of doubt and tolerance; above it the "
    "checks and adjustments of zero and span. The figures are in diagnosis.json.",
)
CHECKS = (
    "What the checks found, against what is allowed",
    "Errors of zero and span of detector {name} as found and as left against their tolerance, and "
    "the share of span gas shown; the figures stand in the table of checks below.",
)
AHEAD = (
    "If it goes on so: when it leaves its tolerance",
    "Where zero and span of detector {name} stand at the end of the logs and the day on which "
    "each leaves its tolerance with its interval; the same stands in words above.",
)


def detector_pictures(
    diagnosis: Diagnosis, folder: Path, window: Window
) -> dict[str, tuple[Plot, ...]]:
    """Draw every detector, write each picture to ``folder``, and return them by detector.

    Parameters
    ----------
    diagnosis : Diagnosis
        What to draw.
    folder : Path
        The folder of the plots; must be there.
    window : Window
        The period of the logs.
    """
    out: dict[str, tuple[Plot, ...]] = {}
    for number, name in enumerate(detector_names(diagnosis), start=1):
        plots = []
        drawn = _drawn(diagnosis, name, window)
        for k, (svg, (title, alt)) in enumerate(zip(drawn, (ZERO, CHECKS, AHEAD), strict=True)):
            if not svg:
                continue
            stem = f"detector-{number}" + (f"-{('checks', 'ahead')[k - 1]}" if k else "")
            (folder / f"{stem}.svg").write_text(svg, encoding="utf-8", newline="\n")
            body = inline_svg(svg, f"d{number}-{k}-")
            plots.append(Plot(title, alt.format(name=name), f"{stem}.svg", body))
        out[name] = tuple(plots)
    return out


def _drawn(diagnosis: Diagnosis, name: str, window: Window) -> tuple[str, str, str]:
    """Return zero, checks and forecast of one detector as SVG, blank where there is nothing."""
    gas, clock = gas_and_analyser(name)[0], diagnosis.logs.clock
    ledger, zeros = checks_of(diagnosis, name), zeros_of(diagnosis, name)
    stands = diagnosis.detectors[diagnosis.detectors["detector"] == name]
    limit = _zero_limit(diagnosis, stands, gas)
    zero = draw_detector(
        zeros,
        ledger,
        gas=gas,
        window=window,
        clock=clock,
        tolerance=limit if np.isfinite(limit) else None,
    )
    checks = ""
    if len(ledger):
        unit = GAS_UNITS.get(gas, "")
        checks = draw_checks(ledger, window=window, clock=clock, unit=unit, zero_limit=limit)
    course = _course(zeros, ledger, stands)
    return zero, checks, draw_forecast(stands, course, window=window, clock=clock)


def zeros_of(diagnosis: Diagnosis, name: str) -> pd.DataFrame:
    """Return the shared zero of one detector."""
    gas, analyser = gas_and_analyser(name)
    mine = diagnosis.zeros[diagnosis.zeros["gas"] == gas]
    return mine[mine["analyser"].astype("object") == analyser] if analyser else mine


def _zero_limit(diagnosis: Diagnosis, stands: pd.DataFrame, gas: str) -> float:
    told = stands.loc[stands["kind"] == "zero", "tolerance"]
    given = diagnosis.logs.site.tolerance.get(gas, np.nan)
    return float(told.iloc[0]) if len(told) else float(given)


def _course(
    zeros: pd.DataFrame, ledger: pd.DataFrame, stands: pd.DataFrame
) -> dict[str, pd.DataFrame]:
    """Return what was seen of zero and span, each by what its forecast rests on."""
    by_readings = bool(((stands["kind"] == "zero") & (stands["basis"] == "readings")).any())
    zero, span = (ledger[ledger["kind"] == kind] for kind in ("zero", "span"))
    seen = zeros["zero"] if by_readings else zero["true_error"]
    share = span["sensitivity"].fillna(1.0 + span["true_error"] / span["reference_true"])
    return {
        "zero": pd.DataFrame({"time": (zeros if by_readings else zero)["time"], "value": seen}),
        "span": pd.DataFrame({"time": span["time"], "value": 100.0 * (share - 1.0)}),
    }
