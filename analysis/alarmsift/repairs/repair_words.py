"""What a repair did, as a sentence for the page."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np


def why(row: Mapping[str, Any]) -> str:
    """Return alarms and line before and after a repair, and what became of it."""
    parts = [_alarms(row), _line(row), _outcome(row)]
    if row["action"] == "setpoint":
        parts.append("another setpoint counts other readings as alarms and cures nothing")
    return "; ".join(part for part in parts if part)


def _alarms(row: Mapping[str, Any]) -> str:
    before, after = row["alarms_before"], row["alarms_after"]
    if not before and not after:
        return "no alarm before or after"
    words = (
        f"{before} alarm{'s' * (before != 1)} in {row['days_before']:.1f} watched days before, "
        f"{after} in {row['days_after']:.1f} after"
    )
    if not np.isfinite(row["ratio"]):
        return words
    # With none before there is no ratio; with very few no upper end.
    high = f"{row['ratio_high']:.2g}" if np.isfinite(row["ratio_high"]) else "any number"
    return (
        f"{words}: {row['ratio']:.2g} times as often "
        f"({row['confidence']:.0%} interval {row['ratio_low']:.2g} to {high})"
    )


def _line(row: Mapping[str, Any]) -> str:
    if not np.isfinite(row["line_ratio"]):
        return ""
    return (
        f"line health {row['line_before']:.2g} before, {row['line_after']:.2g} after: "
        f"{row['line_ratio']:.3g} times ({row['confidence']:.0%} interval "
        f"{row['line_ratio_low']:.3g} to {row['line_ratio_high']:.3g})"
    )


def _outcome(row: Mapping[str, Any]) -> str:
    days = row["days_to_return"]
    if row["outcome"] == "came_back":
        when = f"{days:.1f} days" if days >= 2.0 else f"{24.0 * days:.0f} h"
        return "it did not help" if days < 0.05 else f"the trouble was back after {when}"
    since = "; the alarms since come as rarely as without the trouble" * (row["alarms_after"] > 0)
    if row["action"] == "setpoint" and row["outcome"] == "held":
        return f"fewer alarms for the {row['days_after']:.1f} days seen"
    return {
        "held": f"it held for the {row['days_after']:.1f} days seen{since}",
        "too_early": "too early to tell whether it held",
        "no_trouble": "the logs show no trouble before it that it could have cured",
    }[str(row["outcome"])]
