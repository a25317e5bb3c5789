"""The files of a setpoint study: ``setpoints.html``, ``setpoints.csv`` and ``setpoints.json``."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from alarmsift.report.csv_files import write_csv
from alarmsift.report.json_file import records
from alarmsift.setpoints.study import SetpointStudy

LAYOUT = "alarmsift-setpoints-1"
MOST_CURVES = 24  # of one page: proposals first, then those with most nuisance
OUTCOMES = {
    "proposed": "Proposal",
    "none_needed": "No change needed",
    "none_found": "No admissible change",
    "too_short": "History too short",
    "above_ceiling": "Above the ceiling today",
}


@dataclass(frozen=True)
class Curve:
    """One trade-off picture."""

    title: str
    svg: str
    why: str


def write_study(study: SetpointStudy, folder: Path) -> None:
    """Write the three files into ``folder``, which stands already."""
    from alarmsift.report.render import environment, picture  # noqa: PLC0415  (jinja2 is slow)
    from alarmsift.report.setpoint_plots import leak_svg  # noqa: PLC0415  (matplotlib too)

    write_csv(study.suggestions, folder / "setpoints.csv")
    _write(folder / "setpoints.json", json.dumps(document(study), indent=1, allow_nan=False) + "\n")
    text = (
        environment()
        .get_template("setpoints.html.j2")
        .render(
            study=study,
            rows=_told(study.suggestions),
            curves=_curves(study),
            leak=leak_svg(study.leak_curves) if len(study.leak_curves) else "",
            leaks=study.leaks.to_dict("records"),
            vanished=study.vanished.to_dict("records"),
            theory=_beside(study).to_dict("records"),
            tried=study.tried.to_dict("records"),
            outcomes=OUTCOMES,
            picture=picture,
        )
    )
    _write(folder / "setpoints.html", text)


def document(study: SetpointStudy) -> dict[str, object]:
    """Return the study as plain lists and dictionaries, missing and infinite cells as None."""
    tables = ("suggestions", "rows", "vanished", "theory", "leaks", "tried")
    frames = {name: getattr(study, name) for name in tables}
    return {
        "layout": LAYOUT,
        "name": study.name,
        "goal_30d": study.goal,
        "scan_min": study.scan_min,
        "settings_replayed": study.replayed,
        **{name: records(frame, list(frame.columns)) for name, frame in frames.items()},
    }


def _told(rows: pd.DataFrame) -> list[dict[str, object]]:
    """Return the suggestions, those that say something first."""
    order = rows["outcome"].map(
        {
            key: place
            for place, key in enumerate(
                ("proposed", "above_ceiling", "none_found", "too_short", "none_needed")
            )
        }
    )
    return rows.assign(order=order).sort_values("order", kind="stable").to_dict("records")


def _curves(study: SetpointStudy) -> list[Curve]:
    from alarmsift.report.setpoint_plots import tradeoff_svg  # noqa: PLC0415  (matplotlib is slow)

    count = study.suggestions["nuisance_30d"] + study.suggestions["repeats_30d"]
    asked = study.suggestions.assign(first=study.suggestions["outcome"] == "proposed", count=count)
    asked = asked[count > 0]
    asked = asked.sort_values(["first", "count"], ascending=False, kind="stable")
    groups = dict(iter(study.rows.groupby(["point", "gas", "level"], sort=False)))
    return [
        Curve(f"{one.point} · {one.gas} {one.level}", tradeoff_svg(groups[key]), str(one.why))
        for one in asked.head(MOST_CURVES).itertuples()
        if (key := (one.point, one.gas, one.level)) in groups
    ]


def _beside(study: SetpointStudy) -> pd.DataFrame:
    """Return the theory where there is something to see."""
    rows = study.theory
    return rows[(rows["replayed_30d"] > 0) | (rows["raises_30d"] > 0.01)]


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")
