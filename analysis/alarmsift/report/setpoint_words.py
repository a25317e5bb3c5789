"""What ``alarmsift setpoints`` prints."""

from __future__ import annotations

import textwrap

import pandas as pd

from alarmsift.report.figures import number
from alarmsift.report.setpoint_folder import OUTCOMES
from alarmsift.report.terminal import CAUTION, safe
from alarmsift.setpoints.study import SetpointStudy

WIDTH = 110


def study_words(study: SetpointStudy) -> str:
    """Return the proposals and reasons, and the settings asked about beside today's."""
    rows, lines = study.suggestions, []
    for row in rows[rows["outcome"] != "none_needed"].itertuples():
        outcome = "" if row.outcome == "proposed" else f"{OUTCOMES[str(row.outcome)]}. "
        head = f"{row.point} {row.gas} {row.level}: {outcome}{row.why}"
        if row.fix_first:
            head += f" Fix first: {str(row.fix_first).replace('_', ' ')}."
        lines += textwrap.wrap(head, WIDTH, subsequent_indent="    ")
    calm = int((rows["outcome"] == "none_needed").sum())
    lines.append(f"At {calm} of {len(rows)} points and levels today's count is within the goal.")
    mend = rows[(rows["fix_first"] != "") & (rows["outcome"] == "none_needed")]
    if len(mend):
        lines.append(
            f"At {len(mend)} of them alarms remain that maintenance cures: fix these first."
        )
    lines += _tried(study.tried)
    lines += ["", *textwrap.wrap(CAUTION, WIDTH)]
    return safe("\n".join(lines))


def _tried(rows: pd.DataFrame) -> list[str]:
    if not len(rows):
        return []
    out = ["", f"{'Setting asked about':38}{'in 30 d':>9}{'90 %':>14}{'caught':>9}{'delay min':>11}"
           f"{'leak min':>10}{'h in alarm':>12}"]  # fmt: skip
    for r in rows.itertuples():
        name = f"{r.point} {r.gas} {r.level} {r.setpoint:g}/{r.deadband:g} {r.rule}"
        span = f"{number(r.low_30d, 2)} to {number(r.high_30d, 2)}"
        name += " (today)" if r.today else ""
        out.append(
            f"{name:38}{number(r.raises_30d):>9}{span:>14}{f'{r.caught}/{r.events}':>9}"
            f"{number(r.delay_min):>11}{number(r.leak_delay_min):>10}{number(r.hours_in_alarm):>12}"
        )
    return out
