"""One simulated ship written in the ways in which other systems would export it.

Each writer takes the ship's tables (times UTC) and returns file name -> content. ``CARRIES_LESS``
names those that leave something out by their nature: a historian's table has no status and no flow,
a row an episode no muting, a column of bits no acknowledgement.
"""

from __future__ import annotations

from collections.abc import Callable

import pandas as pd

from alarmsift.tables.schema import GAS_UNITS

Tables = dict[str, pd.DataFrame]
Files = dict[str, bytes]
ISO = "%Y-%m-%dT%H:%M:%SZ"
CARRIES_LESS = {"wide", "episode rows", "bits"}


def _text(frame: pd.DataFrame, *, sep: str = ",", comma: bool = False) -> str:
    decimal = "," if comma else "."
    return frame.to_csv(index=False, sep=sep, decimal=decimal, lineterminator="\n")


def _timed(frame: pd.DataFrame, form: str = ISO) -> pd.DataFrame:
    return frame.assign(time=frame["time"].dt.strftime(form)) if "time" in frame else frame


def plain(tables: Tables) -> Files:
    """Return the documented layout; all others are held against it."""
    return {f"{n}.csv": _text(_timed(t)).encode() for n, t in tables.items() if len(t)}


def _with(tables: Tables, files: Files, *instead: str) -> Files:
    return {n: b for n, b in plain(tables).items() if n.removesuffix(".csv") not in instead} | files


def merged(tables: Tables) -> Files:
    """Return a row a visit: decimal comma, day first, date and time apart, mbar, l/h."""
    rows = tables["readings"].assign(turn=lambda t: t.groupby(["time", "point", "gas"]).cumcount())
    beside = ("flow", "suction", "temperature", "humidity", "analyser")
    keys = ["time", "point", "turn", *(c for c in beside if c in rows)]
    value = rows.set_index([*keys, "gas"])["value"].unstack("gas")
    out = pd.DataFrame(index=value.index)
    for gas in value.columns:
        out[f"{gas} [{GAS_UNITS[gas]}]"] = value[gas]
    if "status" in rows:
        status = rows.set_index([*keys, "gas"])["status"].unstack("gas")
        for gas in status.columns:
            out[f"{gas} status"] = status[gas]
    out = out.reset_index().sort_values(["time", "turn"], kind="stable").drop(columns="turn")
    if "suction" in out:
        out["suction"] = (out["suction"] * 10.0).round(6)
    if "flow" in out:
        out["flow"] = (out["flow"] * 60.0).round(6)
    time = out.pop("time")
    names = {"suction": "Vacuum [mbar]", "flow": "Flow [l/h]", "humidity": "RH [%RH]"}
    out = out.rename(columns=names | {"temperature": "Sample temp [degC]"})
    out.insert(0, "Time", time.dt.strftime("%H:%M:%S"))
    out.insert(0, "Date (UTC)", time.dt.strftime("%d.%m.%Y"))
    return _with(tables, {"m.csv": _text(out, sep=";", comma=True).encode("utf-16")}, "readings")


def wide(tables: Tables) -> Files:
    """Return a column a point and gas, a row a moment."""
    rows = tables["readings"]
    tag = rows["point"] + "." + rows["gas"] + rows["gas"].map(lambda g: f" [{GAS_UNITS[g]}]")
    value = rows.assign(tag=tag).groupby(["time", "tag"], sort=False)["value"].last()
    out = value.unstack("tag").sort_index().reset_index()
    return _with(tables, {"w.csv": _text(_timed(out)).encode()}, "readings")


_BESIDE = (("flow", "L/min"), ("suction", "kPa"), ("temperature", "degC"), ("humidity", "%RH"))


def long_tags(tables: Tables) -> Files:
    """Return a historian's rows of time, tag, value and quality."""
    rows = _timed(tables["readings"], "%Y-%m-%d %H:%M:%S")
    parts = [
        rows.assign(tag=rows["point"] + ":" + rows["gas"] + ":PV", unit=rows["gas"].map(GAS_UNITS))
    ]
    for column, unit in _BESIDE:
        if column in rows:
            one = rows.drop_duplicates(["time", "point"]).dropna(subset=[column])
            parts.append(one.assign(tag=one["point"] + f":{column}:PV", value=one[column],
                                    unit=unit,
                                    status="ok"))  # fmt: skip
    out = pd.concat(parts).sort_values("time", kind="stable")
    keep = [c for c in ("time", "tag", "value", "unit", "status", "analyser") if c in out]
    names = {"time": "Time (UTC)", "tag": "TagName", "value": "Value", "status": "Quality"}
    return _with(tables, {"h.csv": _text(out[keep].rename(columns=names), sep="\t").encode()},
                 "readings")  # fmt: skip


def pasted(tables: Tables) -> Files:
    """Return daily printouts pasted together, header and preamble again for each day."""
    rows = tables["readings"]
    text = ""
    for day, part in rows.groupby(rows["time"].dt.date, sort=True):
        text += f"Gas log\nDate: {day:%d.%m.%Y}\nPrinted by the recorder\n"
        text += _text(_timed(part, "%H:%M:%S").rename(columns={"time": "Time (UTC)"}), sep=";",
                      comma=True)  # fmt: skip
    return _with(tables, {"all.csv": text.encode("cp1252")}, "readings")


def overlapping(tables: Tables) -> Files:
    """Return weekly files that share a day, columns in another order in each."""
    rows, files = tables["readings"], {}
    first = rows["time"].iloc[0]
    week = (rows["time"] - first) // pd.Timedelta(days=7)
    for number in range(int(week.max()) + 1):
        start = first + pd.Timedelta(days=7 * number)
        mine = (rows["time"] >= start) & (rows["time"] < start + pd.Timedelta(days=8))
        columns = [*rows.columns[number % 3 :], *rows.columns[: number % 3]]
        files[f"week{number}.csv"] = _text(_timed(rows.loc[mine, columns])).encode()
    return _with(tables, files, "readings")


def by_volume(tables: Tables) -> Files:
    """Return flammable gas in vol% (on the site's basis, 2.1 %vol), epoch seconds, mmH2O."""
    rows = tables["readings"].copy()
    hc = rows["gas"] == "HC"
    rows["value"] = rows["value"].where(~hc, rows["value"] * 2.1 / 100.0)
    rows["unit"] = rows["gas"].map(GAS_UNITS | {"HC": "vol%"})
    rows["time"] = rows["time"].astype("int64") // 10**6
    if "suction" in rows:
        rows["suction"] = rows["suction"] / 9.80665e-3
        rows = rows.rename(columns={"suction": "suction [mmH2O]"})
    return _with(tables, {"v.csv": _text(rows, sep="|").encode()}, "readings")


def _alarm(events: pd.DataFrame) -> pd.Series:
    gas = events["gas"].fillna("") if "gas" in events else pd.Series("", events.index)
    return (gas + " " + events["level"].str.upper()).str.strip()


def messages(tables: Tables) -> Files:
    """Return the alarm list as lines of text, newest first."""
    events = tables["events"]
    state = events["state"].map({"raised": "", "cleared": " - RETURN TO NORMAL",
                                 "reset": " - RESET", "acknowledged": " - ACK",
                                 "muted": " - SILENCED"})  # fmt: skip
    kind = events["event"].map({"alarm": " ALARM", "fault": " FAULT"})
    text = events["point"] + " " + _alarm(events) + kind + state
    out = pd.DataFrame({"Time": events["time"].dt.strftime(ISO), "Message": text})[::-1]
    return _with(tables, {"e.csv": _text(out, sep=";").encode()}, "events")


def on_off(tables: Tables) -> Files:
    """Return the alarm list as ON, OFF and ACK with gas and level in one cell."""
    events = tables["events"]
    words = {"raised": "ON", "cleared": "OFF", "acknowledged": "ACK", "muted": "MUTE",
             "reset": "RESET"}  # fmt: skip
    out = pd.DataFrame(
        {
            "Date": events["time"].dt.strftime("%d-%b-%Y"),
            "Time (UTC)": events["time"].dt.strftime("%I:%M:%S %p"),
            "Location": events["point"],
            "Alarm": _alarm(events),
            "State": events["state"].map(words),
        }
    )
    return _with(tables, {"e.csv": _text(out).encode()}, "events")


def episode_rows(tables: Tables) -> Files:
    """Return one row an alarm with start, acknowledgement and end."""
    events = tables["events"].fillna({"gas": ""})
    keys = ["point", "gas", "level"]
    raised = events[events["state"] == "raised"]
    out = raised[[*keys, "time"]].rename(columns={"time": "Raised"})
    for state, name in (("acknowledged", "Acknowledged"), ("cleared", "Cleared")):
        some = events[events["state"].isin([state] + ["reset"] * (state == "cleared"))]
        some = some[[*keys, "time"]].rename(columns={"time": name})
        out = pd.merge_asof(out.sort_values("Raised"), some.sort_values(name), left_on="Raised",
                            right_on=name, by=keys, direction="forward")  # fmt: skip
    out = out.sort_values("Raised", ignore_index=True)
    later = out.groupby(keys)["Raised"].shift(-1)
    for name in ("Acknowledged", "Cleared"):
        out[name] = out[name].where(later.isna() | (out[name] <= later)).dt.strftime(ISO)
    out["Raised"] = out["Raised"].dt.strftime(ISO)
    return _with(tables, {"e.csv": _text(out).encode()}, "events")


def bits(tables: Tables) -> Files:
    """Return a column an alarm, 1 while it stands."""
    events = tables["events"].fillna({"gas": ""})
    events = events[events["state"].isin(["raised", "cleared", "reset"])]
    tag = events["point"] + ":" + events["gas"] + ":" + events["level"]
    tag = tag.str.replace("::", ":")
    on = (events["state"] == "raised").astype(int)
    grid = pd.DataFrame({"time": events["time"], "tag": tag, "on": on})
    out = grid.groupby(["time", "tag"])["on"].last().unstack("tag").ffill().fillna(0).astype(int)
    return _with(tables, {"e.csv": _text(_timed(out.reset_index())).encode()}, "events")


def words_of_crew(tables: Tables) -> Files:
    """Return the operations with blanks, capitals and other words."""
    other = {"ballast_fill_start": "Commenced ballasting",
             "ballast_fill_end": "Ballasting completed",
             "ballast_discharge_start": "Deballasting started", "disconnect": "Line disconnected",
             "ballast_discharge_end": "Deballasting stopped", "reconnect": "Line re-connected",
             "ventilation_on": "Fan started", "ventilation_off": "Fan stopped",
             "zero_adjust": "Zero calibration", "span_adjust": "Span calibration",
             "purge": "Blow-back of line", "cargo_start": "Loading commenced"}  # fmt: skip
    rows = tables["operations"]
    action = rows["action"].map(lambda a: other.get(a, a.replace("_", " ").title()))
    out = _timed(rows.assign(action=action)).rename(
        columns={"action": "Operation", "note": "Remarks", "point": "Tank"}
    )
    return _with(tables, {"log.csv": _text(out, sep=";").encode("utf-8-sig")}, "operations")


WRITERS: dict[str, Callable[[Tables], Files]] = {
    "plain": plain,
    "merged": merged,
    "wide": wide,
    "long tags": long_tags,
    "pasted days": pasted,
    "overlapping weeks": overlapping,
    "by volume": by_volume,
    "messages": messages,
    "on off ack": on_off,
    "episode rows": episode_rows,
    "bits": bits,
    "words of the crew": words_of_crew,
}
