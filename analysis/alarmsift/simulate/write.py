"""Write a simulated ship as a log folder: plain, merged or wide, with the truth beside it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pandas as pd

from alarmsift.errors import OutputError
from alarmsift.simulate.layouts import merged_readings, wide_readings
from alarmsift.simulate.shipshape import SimulatedShip
from alarmsift.tables.clock import ShipClock
from alarmsift.tables.marker import mark

LAYOUTS = ("plain", "merged", "wide")


def write_ship(
    ship: SimulatedShip,
    folder: Path,
    *,
    layout: str = "plain",
    days_per_file: float | None = None,
) -> None:
    """Write the logs, ``site.toml`` and a marked subfolder ``truth``.

    Parameters
    ----------
    ship : SimulatedShip
        From :func:`alarmsift.simulate.ship.simulate`.
    folder : Path
        Made when missing.
    layout : str
        ``plain``: the documented layout. ``merged``: one row a visit, a column a gas, semicolon,
        decimal comma, vacuum in mbar, ship's time. ``wide``: a column a point and gas.
    days_per_file : float, optional
        Split the readings so [d]; one file when None.

    Raises
    ------
    OutputError
        When the layout is unknown or the folder can't be written.
    """
    if layout not in LAYOUTS:
        raise OutputError(f"layout '{layout}' is unknown; choose one of {', '.join(LAYOUTS)}.")
    try:
        (folder / "truth").mkdir(parents=True, exist_ok=True)
        for name, frame in ship.tables.items():
            _write_table(ship, folder, name, frame, layout=layout, days=days_per_file)
        _write_text(folder / "site.toml", _toml(ship.site))
        _write_truth(ship, folder / "truth")
    except OSError as error:
        raise OutputError(
            f"the folder '{folder.name}' can't be written: {error.strerror}."
        ) from error


def ship_clock(ship: SimulatedShip) -> ShipClock:
    """Return the clock that the ship's people live by."""
    start = ship.settings.start
    changes = tuple(
        (start + pd.Timedelta(hours=hour), offset) for hour, offset in ship.settings.clock_changes
    )
    return ShipClock(ship.settings.clock, changes)


def _write_table(  # noqa: PLR0913
    ship: SimulatedShip,
    folder: Path,
    name: str,
    frame: pd.DataFrame,
    *,
    layout: str,
    days: float | None,
) -> None:
    parts = _split(frame, days) if name == "readings" else iter([("", frame)])
    for suffix, part in parts:
        path = folder / f"{name}{suffix}.csv"
        if layout == "plain":
            _write_csv(path, _with_plain_times(ship, part))
        elif name == "readings" and layout == "merged":
            _write_csv(path, merged_readings(part, ship_clock(ship)), sep=";", decimal=",")
        elif name == "readings":
            _write_csv(path, wide_readings(part))
        else:
            local = layout == "merged"
            out = _local(ship, part) if local else _zulu(part)
            _write_csv(path, out, sep=";" if local else ",", decimal="," if local else ".")


def _split(frame: pd.DataFrame, days: float | None) -> Iterator[tuple[str, pd.DataFrame]]:
    if days is None:
        yield "", frame
        return
    number = (frame["time"] - frame["time"].iloc[0]) // pd.Timedelta(days=days)
    for count, part in frame.groupby(number, sort=True):
        yield f"-{int(count) + 1:03d}", part


def _with_plain_times(ship: SimulatedShip, frame: pd.DataFrame) -> pd.DataFrame:
    return _zulu(frame) if ship.settings.habits.utc_times else _local(ship, frame)


def _zulu(frame: pd.DataFrame) -> pd.DataFrame:
    if "time" not in frame:
        return frame
    return frame.assign(time=frame["time"].dt.strftime("%Y-%m-%dT%H:%M:%SZ"))


def _local(ship: SimulatedShip, frame: pd.DataFrame) -> pd.DataFrame:
    """Return the frame with ship's times; a ``clock`` row still stands in the old clock."""
    if "time" not in frame:
        return frame
    clock = ship_clock(ship)
    local = clock.to_ship(frame["time"])
    if "action" in frame:
        old = clock.to_ship(frame["time"] - pd.Timedelta(seconds=1)) + pd.Timedelta(seconds=1)
        local = local.where(frame["action"] != "clock", old)
    return frame.assign(time=local.dt.strftime("%Y-%m-%d %H:%M:%S"))


def _write_csv(path: Path, frame: pd.DataFrame, *, sep: str = ",", decimal: str = ".") -> None:
    _write_text(path, frame.to_csv(index=False, sep=sep, decimal=decimal, lineterminator="\n"))


def _write_text(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8", newline="\n")


def _write_truth(ship: SimulatedShip, folder: Path) -> None:
    mark(folder, "truth")
    form = "%Y-%m-%dT%H:%M:%SZ"
    for name in ("truth_episodes", "truth_conditions", "stories"):
        frame = getattr(ship, name)
        for column in frame.columns.intersection(["raised", "start", "end"]):
            frame = frame.assign(**{column: frame[column].dt.strftime(form)})
        _write_csv(folder / f"{name.removeprefix('truth_')}.csv", frame)


def _toml(site: dict[str, Any]) -> str:
    """Return the site as TOML: plain keys, then tables, then lists of tables."""
    lines = [f"{k} = {_toml_value(v)}" for k, v in site.items() if not isinstance(v, (dict, list))]
    for key, value in site.items():
        if isinstance(value, dict):
            lines += ["", f"[{key}]", *_toml_rows(value)]
    for key, value in site.items():
        for row in value if isinstance(value, list) else []:
            lines += ["", f"[[{key}]]", *_toml_rows(row)]
    return "\n".join(lines) + "\n"


def _toml_rows(table: dict[str, Any]) -> list[str]:
    return [f'"{key}" = {_toml_value(value)}' for key, value in table.items()]


def _toml_value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    text = str(value).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{text}"'
