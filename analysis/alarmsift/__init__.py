"""Says what each alarm of a tanker's gas sampling system most likely was.

The command line does the same from a terminal: ``alarmsift diagnose LOGS``. Nothing here is a
gas-free certificate or a permit to enter; every alarm is acted on as real until shown otherwise.

Examples
--------
A quick look at one ship, with every table as a pandas frame::

    import alarmsift

    logs = alarmsift.read_logs("sample_logs/amber_heron")
    diagnosis = alarmsift.diagnose(logs)
    print(diagnosis.episodes[["point", "gas", "raised", "cause", "treat_as"]])
    print(diagnosis.signs("E0001"))
    alarmsift.write_report(diagnosis, "reports/amber_heron")

Steps and drifts of any sensor:

>>> import alarmsift
>>> alarmsift.change_points([1.0, 1.1, 0.9, 1.0, 1.1, 0.9, 5.0, 5.1, 4.9, 5.0, 5.1, 4.9])
[6]
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from alarmsift.calibration.drift import Drift, drift
    from alarmsift.errors import AlarmsiftError, InputError, OutputError
    from alarmsift.evidence.steps import change_points
    from alarmsift.incident.check import verify_pack
    from alarmsift.incident.pack import PackOptions, pack_incident
    from alarmsift.pipeline.diagnose import diagnose
    from alarmsift.reading.folder import read_logs
    from alarmsift.report.folder import write_report
    from alarmsift.setpoints.study import study_setpoints
    from alarmsift.tables.diagnosis import Diagnosis
    from alarmsift.tables.logs import Logs

__version__ = "0.1.0"

__all__ = [
    "AlarmsiftError",
    "Diagnosis",
    "Drift",
    "InputError",
    "Logs",
    "OutputError",
    "PackOptions",
    "__version__",
    "change_points",
    "diagnose",
    "drift",
    "pack_incident",
    "read_logs",
    "study_setpoints",
    "verify_pack",
    "write_report",
]

# Each name and the file that defines it. They are loaded when first asked for: a command line that
# only shows its help must not wait for pandas.
_HOMES = {
    "AlarmsiftError": "alarmsift.errors",
    "Diagnosis": "alarmsift.tables.diagnosis",
    "Drift": "alarmsift.calibration.drift",
    "InputError": "alarmsift.errors",
    "Logs": "alarmsift.tables.logs",
    "OutputError": "alarmsift.errors",
    "PackOptions": "alarmsift.incident.pack",
    "change_points": "alarmsift.evidence.steps",
    "diagnose": "alarmsift.pipeline.diagnose",
    "drift": "alarmsift.calibration.drift",
    "pack_incident": "alarmsift.incident.pack",
    "read_logs": "alarmsift.reading.folder",
    "study_setpoints": "alarmsift.setpoints.study",
    "verify_pack": "alarmsift.incident.check",
    "write_report": "alarmsift.report.folder",
}


def __getattr__(name: str) -> object:
    """Load a public name from its file."""
    if name not in _HOMES:
        raise AttributeError(f"module 'alarmsift' has no attribute '{name}'")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Name what there is without loading it."""
    return sorted({*globals(), *__all__})
