"""What an alarm's text says: its gas or fault, its level, its state, and what is left over.

``BT 1P HC HIGH ALARM - RTN`` is an alarm of HC, level ``high``, cleared, at ``BT 1P``. The words
are common practice without a source, apart from the states' combinations (``UNACK_RTN``), which
follow ISA-18.2: alarm, acknowledged, returned to normal.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from alarmsift.reading.words import GAS_WORDS

SYSTEM = "analyser"  # the point of a fault that no single line has


@dataclass(frozen=True)
class Message:
    """What one text says; blank where it says nothing.

    Attributes
    ----------
    event, level, state, gas : str
        As in the events table.
    value : str
        Number with its gas unit, as written.
    rest : str
        The words that none of these took: as a rule the point's name.
    """

    event: str = ""
    level: str = ""
    state: str = ""
    gas: str = ""
    value: str = ""
    rest: str = ""


_LONGEST = 300  # letters that are looked at
_S = r"[\s_\-./]*"  # between the words of a phrase


def _any(*phrases: str) -> re.Pattern[str]:
    """Return a pattern of whole words; a blank in a phrase stands for any separator or none."""
    body = "|".join(phrase.replace(" ", _S) for phrase in phrases)
    return re.compile(rf"(?<![^\W_])(?:{body})(?![^\W_])", re.IGNORECASE)


_BAD = r"(?:fault|fail(?:ed|ure)?|error|trip(?:ped)?|malfunction|defect(?:ive)?|trouble|flt)"
# Name of the fault -> how it is written; asked in this order, before the levels ("low flow").
_FAULTS: dict[str, re.Pattern[str]] = {
    "water trap": _any(rf"water trap(?: (?:{_BAD}|full|level|high|alarm))*", "moisture trap",
                       r"water (?:in|at) (?:the )?(?:sample )?(?:line|filter|trap|system)",
                       r"water (?:detected|ingress|alarm|carry over)", "condensate(?: high)?",
                       r"liquid (?:in|at) (?:the )?(?:sample )?line", "liquid detected"),
    "low flow": _any(rf"(?:sample )?(?:low low|low|no|loss of|insufficient) (?:sample )?flow"
                     rf"(?: {_BAD})?(?: alarm)?", rf"(?:sample )?flow (?:low|{_BAD})(?: alarm)?",
                     "lo flow", "flow lo", "lowflow", "noflow"),
    "line blocked": _any(r"(?:sample )?line block(?:ed|age)", "blocked(?: line)?", "blockage",
                         r"(?:sample )?line clogged", "clogged(?: line)?", "filter blocked"),
    "pump": _any(rf"(?:sampl(?:e|ing) |vacuum )?pump(?: no)?(?: \d)? {_BAD}"),
    "detector": _any(rf"(?:gas )?(?:detector|sensor|cell|transmitter) {_BAD}", "beam blocked",
                     "beam fault", rf"(?:optics|lamp|source) {_BAD}"),
    "power": _any(rf"(?:power|supply|mains)(?: supply)? (?:{_BAD}|loss|lost)"),
    "analyser": _any(rf"(?:analy[sz]er|system|instrument|cabinet|common|module) {_BAD}"),
}  # fmt: skip
_FAULT = _any(_BAD)
# A part of the system that stands alone is meant to be at fault.
_BARE_NAMES = {"detector": "detector", "sensor": "detector", "cell": "detector", "pump": "pump",
               "sample pump": "pump", "power": "power", "analyser": "analyser",
               "analyzer": "analyser", "flow": "low flow",
               "sample flow": "low flow", "sampling flow": "low flow"}  # fmt: skip
_BARE = re.compile(rf"^[\s|]*({'|'.join(_BARE_NAMES)})[\s|]*$", re.IGNORECASE)
# In the order to ask; a level keeps the word that the list has for it, as in the plain layout.
_LEVELS = (
    _any("high high", "hi hi", "hihi", "hh", "very high", "extra high"),
    _any("low low", "lo lo", "lolo", "ll"),
    _any("high", "hi", "h"),
    _any("low", "lo", "l"),
    _any("(?:alarm|alm|al|a|level|stage) ?[12]", "(?:1st|2nd|first|second) alarm"),
    _any("warning", "warn", "pre alarm"),
)
# Where a point stands in the same text, a letter or A1 may belong to it.
_LONG_LEVELS = (
    *_LEVELS[:2],
    _any("high", "hi"),
    _any("low", "lo"),
    _any("(?:alarm|alm|al|level|stage) ?[12]", "(?:1st|2nd|first|second) alarm"),
    _LEVELS[5],
)
# In the order to ask: 'not acknowledged' speaks of no state, 'returned' beats 'alarm'.
_STATES: dict[str, re.Pattern[str]] = {
    "cleared": _any("(?:un)?ack(?:ed|nowledged)? (?:rtn|cleared|normal|off|inactive)",
                    "(?:rtn|cleared|normal|off|inactive) (?:un)?ack(?:ed|nowledged)?",
                    "return(?:ed|ing)?(?: to)?(?: normal)?", "rtn", "cleared", "clear",
                    "(?:back to |is )?normal(?:i[sz]ed)?", "inactive", "ended", "gone", "off",
                    "recovered", "restored", "healthy", "removed"),
    "raised": _any("un ?ack(?:ed|nowledged)?(?: (?:alm|alarm|active|on))?",
                   "not ack(?:ed|nowledged)?"),
    "acknowledged": _any("ack(?:ed|nowledged?|nowledgement)?(?: (?:alm|alarm|active|on))?",
                         "(?:alm|active) ack(?:ed)?", "accept(?:ed)?"),
    "muted": _any("mute[dr]?", "silenced?", "horn off", "buzzer off"),
    "reset": _any("reset(?:ted)?"),
}  # fmt: skip
# What is not over stands: to read 'not cleared' as cleared would end an alarm that goes on.
_GOES_ON = _any("(?:not|never|no) (?:yet |been |back to |returned to )?"
                "(?:clear(?:ed)?|normal(?:i[sz]ed)?|return(?:ed)?|healthy|reset|restored|"
                "recovered|gone|off|ended|removed)")  # fmt: skip
_ON = _any("on", "active", "activated?", "raised?", "set", "in alarm", "occurred", "detected",
           "started", "start")  # fmt: skip
_ALARM = _any("gas alarms?", "alarms?", "alm", "gas detected", "gas")
_NOISE = _any("levels?", "at", "in", "sampling points?", "sample points?", "points?", "pt",
              "sampl(?:e|ing) lines?", "is", "of", "the", "for", "from", "on", "conc(?:entration)?",
              "limit", "exceeded", "above", "below", "setpoint", "val(?:ue)?", "line",
              "state", "status", "has", "been", "to", "by operator", "operator", "location",
              "tag")  # fmt: skip
# Short words that other texts use too are no gas here ('ex', 'oxy', 'comb').
_GASES = {
    gas: _any(*(re.escape(w).replace(r"\ ", " ") for w in sorted(words, key=len, reverse=True)
                if len(w) > 2 and w not in ("oxy", "comb", "%lel", "%lfl") and "₂" not in w),
              *(w for w in words if w in ("hc", "o2")))
    for gas, words in GAS_WORDS.items()
}  # fmt: skip
_CARBON_MONOXIDE = re.compile(r"(?<![^\W_])CO(?![^\W_])")
_VALUE = re.compile(
    r"[-+]?\d+(?:[.,]\d+)?\s*(?:%\s*(?:LEL|LFL|vol)|ppm|vol\.?\s*%|mg/m3)", re.IGNORECASE
)


@lru_cache(maxsize=1 << 14)
def read_message(text: str, *, point_apart: bool = False) -> Message:
    """Return what a text says of an alarm.

    Parameters
    ----------
    text : str
    point_apart : bool
        The point stands elsewhere, so that single letters (H, L) are levels here and not the
        side or height of a place.

    Examples
    --------
    >>> read_message("BT 1P HC HIGH ALARM - RTN")
    Message(event='alarm', level='high', state='cleared', gas='HC', value='', rest='BT 1P')
    >>> read_message("Low flow fault BT2S").level
    'low flow'
    """
    left, value = text[:_LONGEST], ""
    found = _VALUE.search(left)
    if found:
        value, left = found[0], _cut(left, found)
    level, event = "", ""
    for name, pattern in _FAULTS.items():
        found = pattern.search(left)
        if found:
            level, event, left = name, "fault", _cut(left, found)
            break
    state, left = _state(left)
    gas, left = _gas(left)
    bare = _BARE.match(left) if not event else None
    if bare:
        return Message("fault", _BARE_NAMES[bare[1].lower()], state, gas, value)
    if not event:
        level, left = _level(left, point_apart)
        found = _FAULT.search(left)
        if found and not level:
            event, level, left = "fault", "detector" if gas else "fault", _cut(left, found)
    alarm = _ALARM.search(left)
    left = _ALARM.sub(" | ", left)
    state = state or ("raised" if _ON.search(left) else "")
    left = _FAULT.sub(" | ", _ON.sub(" | ", left))
    if not event and (gas or level or (alarm and alarm[0].lower() != "gas")):
        event = "alarm"
    return Message(event, level, state, gas, value, _rest(left))


@lru_cache(maxsize=1 << 14)
def alarm_of_tag(text: str) -> Message | None:
    """Return the alarm that a column's tag names; None when it names a reading or nothing.

    The level stands behind the gas (``BT1P.HC.High``); before it, it is part of the place
    (``WBT 1 LOW HC``).
    """
    if not text:
        return None
    text = text[:_LONGEST]
    found = read_message(text)
    if found.event == "fault":
        return found
    places = [m.end() for pattern in (*_GASES.values(), _CARBON_MONOXIDE)
              for m in pattern.finditer(text)]  # fmt: skip
    for place in places:
        behind = text[place:]
        if _ALARM.search(behind) or _level(f"|{behind}", point_apart=False)[0]:
            return found
    return None


def _cut(text: str, found: re.Match[str]) -> str:
    return f"{text[: found.start()]} | {text[found.end() :]}"


def _state(text: str) -> tuple[str, str]:
    if _GOES_ON.search(text):
        return "raised", _GOES_ON.sub(" | ", text)
    for name, pattern in _STATES.items():
        found = pattern.search(text)
        if found:
            return name, pattern.sub(" | ", text)
    return "", text


def _gas(text: str) -> tuple[str, str]:
    for gas, pattern in _GASES.items():
        found = pattern.search(text)
        if found:
            return gas, _cut(text, found)
    found = _CARBON_MONOXIDE.search(text)
    return ("CO", _cut(text, found)) if found else ("", text)


def _level(text: str, point_apart: bool) -> tuple[str, str]:
    behind_gas = re.search(r"\|[\s_\-./:]*([HL])\s*$", text)
    if behind_gas:  # BT1P.HC.H
        return behind_gas[1].lower(), text[: behind_gas.start()]
    for pattern in _LEVELS if point_apart else _LONG_LEVELS:
        found = [*pattern.finditer(text)]
        if found:  # the last one: a place may be called high or low
            word = " ".join(re.sub(r"_+", " ", found[-1][0]).lower().split())
            return word, _cut(text, found[-1])
    return "", text


def _rest(text: str) -> str:
    """Return the longest run of words that nothing else took."""
    pieces = re.split(r"[|;,]|\s[-–=:>]+\s|[:=]\s|\s[:=]", _NOISE.sub(lambda m: m[0], text))
    clean = [_trim(piece) for piece in pieces]
    return max(clean, key=len, default="")


def _trim(piece: str) -> str:
    """Return a piece without marks and words of no meaning at its ends."""
    before = None
    while before != piece:
        before = piece
        piece = piece.strip(" \t-–_:;,.!*=<>#|/\"'").lstrip(")").rstrip("(").strip()
        for found in (_NOISE.match(piece), _last(piece)):
            if found and len(found[0]) < len(piece):
                piece = piece[found.end() :] if found.start() == 0 else piece[: found.start()]
                break
            if found and found[0] == piece:
                return ""
    return piece + (")" if piece.count("(") > piece.count(")") else "")


def _last(piece: str) -> re.Match[str] | None:
    found = [*_NOISE.finditer(piece)]
    return found[-1] if found and found[-1].end() == len(piece) else None
