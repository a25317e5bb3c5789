"""What the whole folder and site.toml say that one file alone doesn't: units, date order, marks."""

from __future__ import annotations

from dataclasses import dataclass, field

from alarmsift.reading.ledger import Books
from alarmsift.reading.words import key
from alarmsift.tables.site import Site


@dataclass
class Known:
    """What is known about this installation while its files are being read.

    Attributes
    ----------
    site : Site
    books : Books
    setpoint_units : dict
        Gas -> unit, from the setpoints table and ``[[setpoint]]``.
    reading_units : dict
        Gas -> units that the readings were found in.
    """

    site: Site
    books: Books
    setpoint_units: dict[str, str] = field(default_factory=dict)
    reading_units: dict[str, set[str]] = field(default_factory=dict)

    def site_unit(self, *names: str) -> str:
        """Return what ``[units]`` says about a column or gas, blank when nothing."""
        said = {key(name): unit for name, unit in self.site.units.items()}
        return next((said[key(name)] for name in names if name and key(name) in said), "")

    @property
    def lfl_percent(self) -> float | None:
        """Lower flammable limit [%vol] of the gas meant by %LFL."""
        return None if self.site.lfl is None else self.site.lfl[1]
