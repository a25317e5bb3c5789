"""The words and looks of causes, conditions and reasons: one place for pages, plots, terminal.

Every cause has a letter besides its colour, so that nothing on a page is told by colour alone.
Colours are built on the Okabe-Ito set (Okabe and Ito, "Color universal design", 2008), with two
of Tol's light set (SRON/EPS/TN/09-002) and the darkest kept for gas, so that gas stays the
darkest in a grey print too.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Look:
    """How one cause is named and drawn.

    Attributes
    ----------
    word, meaning : str
        Its name in a sentence, and what it is in one line.
    letter : str
        One character that stands for it in pictures.
    colour, ink : str
        Fill, and the colour of a letter on that fill (contrast at least 4.5 to 1, WCAG 2.1 1.4.3).
    """

    word: str
    letter: str
    colour: str
    ink: str
    meaning: str


_BLACK, _WHITE = "#15202b", "#ffffff"

CAUSES: dict[str, Look] = {
    "gas": Look("gas in the space", "G", "#7a1420", _WHITE, "vapour has leaked into the space"),
    "ambient_vapour": Look(
        "vapour from deck",
        "A",
        "#d55e00",
        "#000000",
        "real vapour outside the space, drawn in during cargo work",
    ),
    "undetermined": Look(
        "undetermined", "?", "#e69f00", _BLACK, "the signs do not settle it; treat as gas"
    ),
    "water": Look("water in the line", "W", "#0072b2", _WHITE, "water stands in the line"),
    "blocked": Look("blocked line", "B", "#56b4e9", _BLACK, "scale, mud or a stuck valve"),
    "moisture": Look(
        "moisture", "M", "#99ddff", _BLACK, "humid air or condensate that the detector answers to"
    ),
    "carry_over": Look(
        "carry-over", "C", "#cc79a7", _BLACK, "the sample before was not flushed out"
    ),
    "zero_drift": Look(
        "zero drift", "Z", "#2fb58c", _BLACK, "the detector's zero has walked, at all points alike"
    ),
    "test_gas": Look("test gas", "T", "#bbcc33", _BLACK, "a calibration or bump test"),
    "spike": Look("spike", "S", "#f0e442", _BLACK, "one visit alone, an electrical disturbance"),
    "tight_setpoint": Look(
        "tight setpoint",
        "N",
        "#d3d8dc",
        _BLACK,
        "a steady background lies so near the setpoint that noise crosses it",
    ),
    "pump": Look("pump", "P", "#aa4499", _WHITE, "pump worn or common filter clogged"),
}

# In order of seriousness, the worst first: word, mark, sentence.
TREAT_AS: dict[str, tuple[str, str, str]] = {
    "gas": ("Treat as gas", "◆", "The signs speak for gas: act on it as gas."),
    "unresolved": (
        "Unresolved: treat as gas",
        "◈",
        "Gas is not ruled out: act on it as gas until a check settles it.",
    ),
    "unwatched": ("Not watched", "◌", "Nobody was watching this point while this lasted."),
    "nuisance": (
        "Nuisance",
        "○",
        "Gas was under 1 % likely and another cause is positively supported.",
    ),
}

CONDITIONS: dict[str, tuple[str, str]] = {
    "water": ("water in the line", "Water stands in the line: the point can't see gas."),
    "blocked": ("line blocked", "The line has at least twice its clean resistance."),
    "air_leak": ("air leak", "Air is drawn in on the way: every reading is too small."),
    "left_disconnected": (
        "left disconnected",
        "The space was empty again and the line was still off.",
    ),
    "not_sampled": ("not sampled", "No valid reading within the cycle limit."),
    "no_alarm": ("alarm that never came", "Readings and alarms do not match the setpoint."),
    "zero_drift": ("zero drift", "The detector's zero has moved; a negative one hides gas."),
    "low_sensitivity": (
        "low sensitivity",
        "Every reading is too small; true setpoints are higher.",
    ),
    "low_flow_all": ("low flow at all points", "The pump or the common filter fails."),
}

# Reason of a gap in the watch: word, letter, group (groups share a pattern in pictures).
REASONS: dict[str, tuple[str, str, str]] = {
    "disconnected": ("disconnected for ballast or work", "d", "off"),
    "left_disconnected": ("left disconnected", "L", "off"),
    "water": ("water in the line", "w", "line"),
    "blocked": ("line blocked", "b", "line"),
    "not_sampled": ("not sampled", "n", "idle"),
    "stopped": ("system stopped", "s", "idle"),
    "slow_cycle": ("round took too long", "c", "idle"),
    "test": ("calibration or test", "t", "idle"),
    "no_log": ("no rows in the export", "x", "no_log"),
}
REASON_GROUPS: dict[str, str] = {
    "off": "line disconnected",
    "line": "line wet or blocked",
    "idle": "not sampled, stopped, slow or testing",
    "no_log": "no rows in the logs (no proof that nobody watched)",
}

ENDINGS: dict[str, str] = {
    "clean_reading": "clean reading",
    "reset": "reset by hand",
    "disconnect": "line disconnected",
    "restart": "system restarted",
    "setpoint": "setpoint changed",
    "test": "end of test",
    "log_end": "still open at the end",
    "unknown": "not known",
}

# What came of a finding.
OUTCOMES: dict[str, str] = {
    "confirmed": "confirms the verdict",
    "refuted": "refutes the verdict",
    "named": "names what the signs left open",
    "no_override": "a sign, no verdict",
    "no_alarm": "no alarm in the 72 h before it",
    "not_read": "names no known cause",
}
# What became of a repair: word, mark, class of the badge.
REPAIRED: dict[str, tuple[str, str, str]] = {
    "came_back": ("came back", "↩", "unresolved"),
    "too_early": ("too early to tell", "…", "unwatched"),
    "held": ("held", "✓", "nuisance"),
    "no_trouble": ("nothing to cure seen", "–", ""),
    # Another setpoint after which fewer readings count as alarms: no repair, and no success.
    "fewer_alarms": ("fewer alarms, nothing cured", "…", "unwatched"),
}
# What is to be said of a check.
CHECKED: dict[str, str] = {
    "within": "within",
    "out": "out of tolerance",
    "not_valid": "not valid",
    "unknown": "no tolerance known",
}
HELD: dict[str, str] = {
    "held": "held",
    "did_not_hold": "did not hold",
    "too_early": "too early to tell",
}

CAUTIONS: tuple[str, ...] = (
    "This report is no gas-free certificate and no permit to enter any space.",
    "Every alarm is acted on as real until it is shown otherwise.",
    "Company procedures, the class society, the flag state and licensed practice decide; "
    "where they say something else, they are right and this report is not.",
    "Every check named here is done from outside the space. No check here is a reason to go in.",
    "Line trouble is no proof against gas: a tank can leak while its line is wet or choked, and "
    "then the reading is too small, not wrong.",
    "Times and rates for possible gas are ranges worked out from logs, never time to spare.",
    "The report knows only what the logs hold. What was not logged, it cannot see.",
)


def plain(key: object) -> str:
    """Return a key of the tables as words, for keys that have no words of their own.

    Examples
    --------
    >>> plain("low_flow_all")
    'low flow all'
    """
    return str(key).replace("_", " ") if isinstance(key, str) else ""


def cause_look(cause: object) -> Look:
    """Return the look of a cause; an unknown one is drawn like an undetermined one."""
    look = CAUSES.get(str(cause))
    if look is not None:
        return look
    other = CAUSES["undetermined"]
    return Look(plain(cause), other.letter, other.colour, other.ink, "")


def condition_word(condition: object) -> str:
    """Return the condition in words."""
    return CONDITIONS[str(condition)][0] if str(condition) in CONDITIONS else plain(condition)


def reason_word(reason: object) -> str:
    """Return the reason of a gap in the watch in words."""
    return REASONS[str(reason)][0] if str(reason) in REASONS else plain(reason)


def ending_word(ending: object) -> str:
    """Return how an episode ended in words."""
    return ENDINGS.get(str(ending), plain(ending))


def severity(treat_as: object) -> int:
    """Return 0 for the most serious ``treat_as``, rising; what is unknown counts as unresolved."""
    order = list(TREAT_AS)
    return order.index(str(treat_as)) if str(treat_as) in TREAT_AS else order.index("unresolved")
