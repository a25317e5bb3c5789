"""What the ship itself says about its system: ``site.toml``, as a frozen record."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class SiteSetpoint:
    """One ``[[setpoint]]`` of ``site.toml``; same fields as the setpoints table."""

    gas: str
    level: str
    value: float
    unit: str = ""
    point: str = ""
    deadband: float | None = None
    confirm_visits: int | None = None
    direction: str = ""


@dataclass(frozen=True)
class Site:
    """Settings of one ship.

    Attributes
    ----------
    clock : str
        ``"UTC"``, ``"UTC+3"``, ``"UTC-03:30"`` or an IANA zone.
    cycle_limit_min : float
        Longest time a point may go unwatched [min]. 30 by IMO MSC.1/Circ.1370, 2.1.2.
    calibration_days : float
        Days between calibrations. 30: monthly by IMO MSC.1/Circ.1370, 4.1.1.
    lfl : (str, float) or None
        Gas and its lower flammable limit [%vol] that %LFL refers to.
    units : dict
        Unit of a column or gas where the logs do not say it.
    aliases : dict
        Name of a point in the alarm list -> its name in the readings.
    tolerance, ceiling : dict
        By gas, in the gas's unit.
    columns : dict
        Column in the file -> column of the plain layout.
    date_order : str
        ``day-first``, ``month-first`` or ``year-first``, for dates that the logs leave open;
        blank = not said.
    decimal : str
        ``,`` or ``.``, for numbers that the logs leave open; blank = not said.
    alarm_clock_min : float or None
        By how much the alarm list's clock is ahead of the readings' [min]; negative = behind.
    given : tuple of str
        The keys that ``site.toml`` really set, so that defaults can be named as such.
    """

    name: str = ""
    clock: str = "UTC"
    cycle_limit_min: float = 30.0
    reference_point: str | None = None
    calibration_days: float = 30.0
    lfl: tuple[str, float] | None = None
    units: dict[str, str] = field(default_factory=dict)
    aliases: dict[str, str] = field(default_factory=dict)
    tolerance: dict[str, float] = field(default_factory=dict)
    ceiling: dict[str, float] = field(default_factory=dict)
    setpoints: tuple[SiteSetpoint, ...] = ()
    columns: dict[str, str] = field(default_factory=dict)
    date_order: str = ""
    decimal: str = ""
    alarm_clock_min: float | None = None
    given: tuple[str, ...] = ()
