"""A small hand-made ship: four points, two gases, three days, one alarm; every value invented."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

START = datetime(2026, 3, 1, tzinfo=UTC)
POINTS = ("WBT 1P", "WBT 1S", "PUMP ROOM", "CABINET")
HEADER = "time,point,gas,value,unit,status,flow,suction"


def reading_rows(days: float = 3.0) -> list[str]:
    """A visit every five minutes; gas comes up at WBT 1S for six hours on the second day."""
    rows = []
    for visit in range(int(days * 288)):
        point = POINTS[visit % 4]
        moment = START + timedelta(minutes=5 * visit)
        hour = visit / 12
        swing = 0.3 * math.sin(visit * 1.7)
        hc = max(0.0, 1.0 + swing)
        if point == "WBT 1S" and 30 <= hour < 36:
            hc = 1.0 + 45.0 * math.sin((hour - 30) / 6 * math.pi)
        stamp = f"{moment:%Y-%m-%dT%H:%M:%SZ}"
        flow = 2.9 + 0.1 * swing
        rows.append(f"{stamp},{point},HC,{hc:.1f},%LFL,ok,{flow:.2f},12.1")
        rows.append(f"{stamp},{point},H2S,{abs(swing):.1f},ppm,ok,{flow:.2f},12.1")
    return rows


def event_rows() -> list[str]:
    return [
        "time,point,gas,event,level,state,value",
        "2026-03-02T07:25:00Z,WBT 1S,HC,alarm,low,raised,31.0",
        "2026-03-02T07:31:00Z,WBT 1S,HC,alarm,low,acknowledged,",
        "2026-03-02T10:45:00Z,WBT 1S,HC,alarm,low,cleared,27.0",
    ]


SETPOINTS = "gas,level,value,unit,deadband\nHC,low,30,%LFL,2\nH2S,low,10,ppm,1\n"
SITE = 'name = "MT Plain Example"\nclock = "UTC+2"\nreference_point = "CABINET"\n'


def write_logs(folder: Path, rows: list[str] | None = None, *, days: float = 3.0) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    lines = [HEADER, *(reading_rows(days) if rows is None else rows)]
    (folder / "readings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (folder / "events.csv").write_text("\n".join(event_rows()) + "\n", encoding="utf-8")
    (folder / "setpoints.csv").write_text(SETPOINTS, encoding="utf-8")
    return folder
