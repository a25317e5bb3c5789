"""Which operation do free words speak of? 'Ballasting 3P commenced' is ``ballast_fill_start``.

Common practice, no source. A sentence about what was not done, or is still to be done, stays a
note: an operation that never was would explain an alarm away.
"""

from __future__ import annotations

import re

from alarmsift.reading.words import key
from alarmsift.tables.schema import ACTIONS

_START = r"start|commenc|began|begin|open|run|\bon\b"
_END = r"stop|complet|finish|end|clos|\boff\b|ceas|done|final|topped"
_DISCHARGE = r"de.?ballast|ballast\w* (?:discharg|out|pump(?:ed|ing) out)"
_FILL = r"ballast(?!\w* (?:water )?(?:tank|pump))|filling"
_ZERO_SET = r"adjust|adj\b|set|calib|cal\b|trim|correct"
_UNSURE = re.compile(
    r"\b(?:not|no|before|after|until|prior|will|planned|plan|cancel\w*|postpone\w*|if|expect\w*|"
    r"tomorrow|request\w*|prepar\w*|ready|to be|stand\s?by|due|failed|unable)\b"
)
# Both patterns must be found; the first rule that fits counts.
_RULES: tuple[tuple[str, str, str], ...] = (
    ("reconnect", r"re.?connect|connected again|back in (?:service|line)|restored to service", ""),
    ("disconnect", r"disconnect|isolated?\b|unplugged|taken out of (?:service|line)", ""),
    ("ballast_discharge_start", _DISCHARGE, _START),
    ("ballast_discharge_end", _DISCHARGE, _END),
    ("ballast_fill_start", _FILL, _START),
    ("ballast_fill_end", _FILL, _END),
    ("zero_adjust", r"\bzero", _ZERO_SET),
    ("zero_check", r"\bzero", ""),
    ("span_adjust", r"\bspan", _ZERO_SET),
    ("span_check", r"\bspan|bump test|test gas appl", ""),
    ("purge", r"purg|blow.?(?:back|through|down|n through|n back)|blew (?:back|through)", ""),
    ("resample", r"re.?sampl", ""),
    ("setpoint", r"set.?point|alarm (?:limit|level)", r"chang|set|rais|lower|adjust|to \d|^setp"),
    ("ventilation_on", r"ventilat|\bvent\b|\bfan", _START),
    ("ventilation_off", r"ventilat|\bvent\b|\bfan", _END),
    ("cargo_start", r"cargo|\bloading|\bdischarging", _START),
    ("cargo_end", r"cargo|\bloading|\bdischarging", _END),
    ("restart", r"re.?start|reboot|power(?:ed)? up|switched on again", ""),
    ("sea_state", r"sea state", ""),
    ("clock", r"\bclocks?\b", r"advanc|retard|chang|set|utc|put|turned"),
    ("maintenance", r"maintenance|filters? (?:changed|renewed|replaced|cleaned)|renewed|repair|"
     r"overhaul|servic(?:e|ed|ing)\b|replaced", ""),
)  # fmt: skip
_COMPILED = [(name, re.compile(one), re.compile(two)) for name, one, two in _RULES]


def action_of(text: str) -> str:
    """Return the action of the contract that words name; blank when none surely.

    Examples
    --------
    >>> action_of("Ballast Fill Start"), action_of("Commenced deballasting WBT 3P")
    ('ballast_fill_start', 'ballast_discharge_start')
    >>> action_of("Ballasting not started"), action_of("Fire drill")
    ('', '')
    """
    if key(text) in ACTIONS:
        return key(text)
    plain = " ".join(re.sub(r"[_/]+", " ", text[:300].lower()).split())
    if not plain or _UNSURE.search(plain):
        return ""
    for name, one, two in _COMPILED:
        if one.search(plain) and two.search(plain):
            return name
    return ""
