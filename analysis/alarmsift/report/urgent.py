"""What needs a person now, in the order in which it does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import pandas as pd

from alarmsift.report.words import cause_look, condition_word, ending_word, severity
from alarmsift.tables.diagnosis import Diagnosis
from alarmsift.timeline.clean_reading import is_clean

GROUPS: tuple[tuple[str, str], ...] = (
    ("gas", "Possible gas"),
    ("cut_off", "Alarm cut off, no clean reading since"),
    ("unwatched", "Not watched"),
    ("growing", "Growing fault"),
    ("other", "Look at this too"),
)
BLIND_CONDITIONS = frozenset(("water", "left_disconnected", "not_sampled", "no_alarm"))
CUT_OFF_ENDINGS = ("disconnect", "setpoint")
# Alarms raised so shortly before the end of the logs are named first [h]: the watches of the last
# two days still remember them (common practice, no source).
FRESH_H = 48.0


@dataclass(frozen=True)
class Urgent:
    """One line of the list: where, why in one sentence, and what to do next.

    ``fresh`` is whether it is still so, or was raised in the last ``FRESH_H`` hours of the logs.
    """

    group: str
    where: str
    page: str
    mark: str
    reason: str
    detail: str
    next_check: str
    since: pd.Timestamp | None
    fresh: bool = True


def urgent_items(diagnosis: Diagnosis, pages: dict[str, str]) -> list[Urgent]:
    """Return the list, the most urgent first.

    Parameters
    ----------
    diagnosis : Diagnosis
        The verdicts to list.
    pages : dict
        Point -> page stem.

    Returns
    -------
    list of Urgent
        One line a point and group: the gravest bout speaks, the others are counted.
    """
    items = [
        *_gas(diagnosis, pages),
        *_cut_off(diagnosis, pages),
        *_unwatched(diagnosis, pages),
        *_growing(diagnosis, pages),
    ]
    seen = {item.where for item in items}
    items += _others(diagnosis, pages, seen)
    order = [key for key, _ in GROUPS]
    return sorted(items, key=lambda item: order.index(item.group))


def _text(cell: object) -> str:
    return cell if isinstance(cell, str) else ""


def _gas(diagnosis: Diagnosis, pages: dict[str, str]) -> list[Urgent]:
    alarms = diagnosis.episodes
    alarms = alarms[alarms["treat_as"].isin(["gas", "unresolved"])].copy()
    alarms["grade"] = alarms["treat_as"].map(severity)
    alarms["open"] = alarms["cleared"].isna()
    since = last_row(diagnosis) - pd.Timedelta(hours=FRESH_H)
    alarms["fresh"] = alarms["open"] | (alarms["raised"] >= since)
    alarms = alarms.sort_values(
        ["open", "fresh", "grade", "p_gas", "raised"],
        ascending=[False, False, True, False, False],
        kind="stable",
    )
    counts = alarms["point"].value_counts()
    items = []
    for row in alarms.drop_duplicates("point").itertuples():
        look = cause_look(row.cause)
        more = int(counts[row.point]) - 1
        state = "still open" if row.open else f"ended by {ending_word(row.ended_by)}"
        detail = f"{_text(row.gas)} {_text(row.level)}: {look.word}, {state}".strip()
        if more:
            detail += f"; {more} more alarm{'s' if more > 1 else ''} here to treat as gas"
        items.append(
            Urgent(
                "gas",
                str(row.point),
                pages.get(str(row.point), ""),
                str(row.treat_as),
                _text(row.why),
                detail,
                _text(row.next_check),
                row.raised,
                bool(row.fresh),
            )
        )
    return items


def last_row(diagnosis: Diagnosis) -> pd.Timestamp:
    """Return the time of the last visit or alarm; NaT when there is neither."""
    times = [diagnosis.visits["time"].max(), diagnosis.episodes["raised"].max()]
    known = [time for time in times if not pd.isna(time)]
    return max(known, default=pd.NaT)


def _cut_off(diagnosis: Diagnosis, pages: dict[str, str]) -> list[Urgent]:
    alarms = diagnosis.episodes
    alarms = alarms[(alarms["kind"] == "alarm") & alarms["ended_by"].isin(CUT_OFF_ENDINGS)]
    alarms = alarms.sort_values("raised", ascending=False, kind="stable")
    items = []
    for row in alarms.drop_duplicates(["point", "gas"]).itertuples():
        if clean_since(diagnosis, str(row.point), _text(row.gas), row.cleared):
            continue
        how = "the line was taken off" if row.ended_by == "disconnect" else "the setpoint was moved"
        items.append(
            Urgent(
                "cut_off",
                str(row.point),
                pages.get(str(row.point), ""),
                str(row.treat_as),
                f"The {_text(row.gas)} {_text(row.level)} alarm ended because {how}, and no "
                "reading well under the lowest setpoint has come since.",
                f"verdict: {cause_look(row.cause).word}",
                _text(row.next_check),
                row.raised,
            )
        )
    return items


def clean_since(diagnosis: Diagnosis, point: str, gas: str, moment: pd.Timestamp) -> bool:
    """Tell whether a valid reading on the safe side of every setpoint came after ``moment``."""
    limits = diagnosis.setpoints
    limits = limits[(limits["point"] == point) & (limits["gas"] == gas)]
    visits = diagnosis.visits
    if pd.isna(moment) or not len(limits) or gas not in visits:
        return False
    later = visits[((visits["point"] == point) & (visits["time"] > moment)).to_numpy()]
    if f"{gas}_status" in later:
        later = later[later[f"{gas}_status"].astype("object").fillna("ok").isin(["ok", ""])]
    return bool(is_clean(later[gas].to_numpy(float), limits).any())


def _unwatched(diagnosis: Diagnosis, pages: dict[str, str]) -> list[Urgent]:
    items = [
        _condition(row, "unwatched", pages)
        for row in _open_conditions(diagnosis)
        if row.condition in BLIND_CONDITIONS or _gap_now(diagnosis, str(row.point)) is not None
    ]
    named = {item.where for item in items}
    for point, page in pages.items():
        gap = _gap_now(diagnosis, point)
        if gap is not None and point not in named:
            items.append(
                Urgent(
                    "unwatched",
                    point,
                    page,
                    "unwatched",
                    "The logs end while this point is unwatched.",
                    str(gap["reason"]).replace("_", " "),
                    _next_check(diagnosis, point),
                    gap["start"],
                )
            )
    return items


def _gap_now(diagnosis: Diagnosis, point: str) -> pd.Series | None:
    """Return the gap that reaches the end of the logs; missing rows alone are no gap."""
    gaps = diagnosis.coverage
    gaps = gaps[(gaps["point"] == point) & (gaps["reason"] != "no_log")]
    if not len(gaps):
        return None
    last = diagnosis.visits["time"].max() if len(diagnosis.visits) else pd.NaT
    slack = pd.Timedelta(minutes=float(diagnosis.logs.site.cycle_limit_min))
    now = gaps[gaps["end"].isna() | (gaps["end"] >= last - slack)]
    return now.iloc[-1] if len(now) else None


def _growing(diagnosis: Diagnosis, pages: dict[str, str]) -> list[Urgent]:
    return [
        _condition(row, "growing", pages)
        for row in _open_conditions(diagnosis)
        if row.condition not in BLIND_CONDITIONS and _gap_now(diagnosis, str(row.point)) is None
    ]


def _open_conditions(diagnosis: Diagnosis) -> list[Any]:
    frame = diagnosis.conditions
    frame = frame[frame["end"].isna()]
    return list(frame.sort_values("probability", ascending=False, kind="stable").itertuples())


def _condition(row: Any, group: str, pages: dict[str, str]) -> Urgent:
    point, condition = str(row.point), str(row.condition)
    return Urgent(
        group,
        point,
        pages.get(point, ""),
        "unwatched" if group == "unwatched" else "",
        _text(row.why),
        condition_word(condition),
        _text(row.next_check),
        row.start,
    )


def _next_check(diagnosis: Diagnosis, point: str) -> str:
    rows = diagnosis.points[diagnosis.points["point"] == point]
    return _text(rows["next_check"].iloc[0]) if len(rows) else ""


def _others(diagnosis: Diagnosis, pages: dict[str, str], seen: set[str]) -> list[Urgent]:
    frame = diagnosis.points
    frame = frame[frame["needs_person"].astype(bool) & ~frame["point"].isin(seen)]
    return [
        Urgent(
            "other",
            str(row.point),
            pages.get(str(row.point), ""),
            "",
            _text(row.headline),
            _text(row.worst).replace("_", " "),
            _text(row.next_check),
            None,
        )
        for row in frame.itertuples()
    ]
