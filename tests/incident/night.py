"""One night on the small hand-made ship, with answers, work on a line, checks and findings.

Every value is invented. What must be told of it can be counted by hand: gas at WBT 1S passes 30 at
the visit of 07:25 UTC (1 + 45 sin(pi (h - 30) / 6), h = 31.42) and is back under 28 at 11:05.
"""

from __future__ import annotations

from pathlib import Path

from tests.cli.hand_made_ship import HEADER, SETPOINTS, SITE, reading_rows

START, END = "2026-03-02T05:00Z", "2026-03-02T13:00Z"
OFF = ("2026-03-02T06:00:00Z", "2026-03-02T09:00:00Z")
EVENTS = """\
time,point,gas,event,level,state,value,text
2026-03-02T07:25:00Z,WBT 1S,HC,alarm,low,raised,31.4,watch called Mr Example
2026-03-02T07:31:00Z,WBT 1S,HC,alarm,low,acknowledged,,answered by Mr Example
2026-03-02T10:45:00Z,WBT 1S,HC,alarm,low,cleared,27.0,
2026-03-03T02:00:00Z,PUMP ROOM,H2S,alarm,low,raised,11.0,late one
2026-03-03T03:00:00Z,PUMP ROOM,H2S,alarm,low,cleared,1.0,
"""
OPERATIONS = f"""\
time,action,point,gas,value,reference,unit,note
2026-03-01T06:00:00Z,zero_check,,HC,0.4,0,%LFL,
2026-03-01T06:10:00Z,span_check,,HC,48,50,%LFL,
{OFF[0]},disconnect,WBT 1P,,,,,hose seven
2026-03-02T07:40:00Z,resample,WBT 1S,,,,,
2026-03-02T08:10:00Z,ventilation_on,WBT 1S,,,,,"blower from deck,
rigged by Mr Example"
{OFF[1]},reconnect,WBT 1P,,,,,
2026-03-02T20:00:00Z,span_adjust,,HC,50,50,%LFL,
"""
FINDINGS = """\
time,point,gas,found,note
2026-03-02T12:00:00Z,WBT 1S,HC,gas,seen by Mr Example
2026-03-03T12:00:00Z,WBT 1S,HC,nothing,second look
"""


def write_night(folder: Path) -> Path:
    """Write the logs; WBT 1P has no readings while its line is off."""
    folder.mkdir(parents=True)
    rows = [row for row in reading_rows() if ",WBT 1P," not in row or not OFF[0] < row < OFF[1]]
    files = {
        "readings.csv": "\n".join([HEADER, *rows]) + "\n",
        "events.csv": EVENTS,
        "operations.csv": OPERATIONS,
        "findings.csv": FINDINGS,
        "setpoints.csv": SETPOINTS,
        "site.toml": SITE,
    }
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    return folder
