"""How the ship's clock stood to UTC, and every doubt about the times, as sentences."""

from __future__ import annotations

import pandas as pd

from alarmsift.tables.incident import Asked
from alarmsift.tables.logs import Logs

# How finely jumps of the ship's clock are looked for, and how far beside the window.
STEP = pd.Timedelta(minutes=15)
BESIDE = pd.Timedelta(days=1)
TABLES = ("readings", "events", "operations")
# Where so many rows of a file are earlier than the row above, the file runs backwards and says
# nothing about the clock.
BACKWARDS = 0.5
# A file runs in rounds and lists; a second is no doubt.
SLACK = pd.Timedelta(seconds=1)


def clock_words(logs: Logs, crossed: pd.DataFrame, asked: Asked) -> tuple[str, ...]:
    """Return the sentences, the setting first."""
    if "clock" in logs.site.given:
        words = [f"The ship's clock is set to {logs.clock.zone} in site.toml."]
    else:
        words = [
            "site.toml gives no clock: times without an offset of their own were read as UTC. "
            "If the ship's clock was another, every time here is off by that much."
        ]
    words += _jumps(logs, asked)
    for name in TABLES:
        words += _backwards(getattr(logs, name), asked)
    words += _alarm_against_reading(logs.events, crossed, asked)
    words.append(
        "Each time is that of the clock of the equipment that wrote the row. The logs hold no "
        "comparison with a reference clock."
    )
    return tuple(words)


def _jumps(logs: Logs, asked: Asked) -> list[str]:
    grid = pd.Series(
        pd.date_range((asked.start - BESIDE).floor(STEP), asked.end + BESIDE, freq=STEP)
    )
    grid = grid[grid <= (asked.end if asked.known_at is None else asked.known_at)]
    jump = logs.clock.to_ship(grid).diff() - STEP
    out = []
    for place in jump.index[jump.notna() & (jump != pd.Timedelta(0))]:
        hours = jump[place] / pd.Timedelta(hours=1)
        told = f"The ship's clock moved by {hours:+g} h about {grid[place]:%Y-%m-%d %H:%M} UTC"
        out.append(
            f"{told}; it showed {-hours:g} h twice, and rows of that time without an offset may "
            "belong to either."
            if hours < 0
            else f"{told}."
        )
    return out


def _backwards(frame: pd.DataFrame, asked: Asked) -> list[str]:
    """Say where rows of a file stand in another order than their times."""
    rows = frame[frame["time"].between(asked.start, asked.end)]
    rows = rows.assign(source_file=rows["source_file"].astype(object))
    out = []
    rows = rows.sort_values("source_row", kind="stable")
    for file, mine in rows.groupby("source_file", sort=True):
        back = mine["time"].diff() < -SLACK
        count = int(back.sum())
        if 0 < count < BACKWARDS * max(len(mine) - 1, 1):
            first = int(mine.loc[back, "source_row"].iloc[0])
            out.append(
                f"In {file}, {count} rows of the window are earlier than the row above them "
                f"(first: row {first}): the clock was set back, or rows were written late."
            )
    return out


def _alarm_against_reading(events: pd.DataFrame, crossed: pd.DataFrame, asked: Asked) -> list[str]:
    """Say how far alarms stand from the reading that crossed: two clocks would show here."""
    raised = events[
        events["time"].between(asked.start, asked.end)
        & (events["state"] == "raised")
        & (events["event"] == "alarm")
    ]
    key = ["point", "gas", "level"]
    left = raised[["time", *key]].assign(**{c: raised[c].astype(object) for c in key})
    up = crossed[crossed["past"].astype(bool) & ~crossed["already"].astype(bool)]
    right = up[["time", *key]].assign(crossed=up["time"], **{c: up[c].astype(object) for c in key})
    if not len(left) or not len(right):
        return ["No alarm of the window stands beside a reading that crossed its setpoint."]
    right["time"] = right["time"].astype("datetime64[us, UTC]")
    pairs = pd.merge_asof(
        left.sort_values("time", kind="stable"),
        right.sort_values("time", kind="stable"),
        on="time",
        by=key,
        direction="nearest",
        tolerance=pd.Timedelta(hours=2),
    ).dropna(subset=["crossed"])
    if not len(pairs):
        return ["No alarm of the window stands within 2 h of a reading that crossed its setpoint."]
    late = (pairs["time"] - pairs["crossed"]) / pd.Timedelta(seconds=1)
    return [
        f"Alarms beside the reading that crossed their setpoint: {len(pairs)}; the alarm's time is "
        f"later by {late.median():g} s (median; {late.min():g} to {late.max():g} s). A "
        "steady difference would mean that alarm list and readings keep different clocks."
    ]
