"""The words that logs use for columns, gases and states, and the plain word for each.

Common practice, no source: the lists grew from how loggers, historians and spreadsheets name
things. Words that could mean two things are left out on purpose; ``[columns]`` in site.toml
settles those.
"""

from __future__ import annotations

import re

from alarmsift.tables.schema import GAS_UNITS

COLUMN_WORDS: dict[str, tuple[str, ...]] = {
    "time": ("timestamp", "datetime", "date_time", "date_and_time", "time_stamp", "event_time",
             "time_of_event", "alarm_time", "time_of_alarm", "reading_time", "date_time_group",
             "local_time", "timestamp_local", "occurred_at", "recorded_at", "time_of_day",
             "ships_time", "ship_time", "sample_time", "log_time",
             "logged", "epoch", "unix_time"),
    "date": ("date", "day", "sample_date", "log_date", "ships_date", "local_date", "datum"),
    # One row an episode: when it was raised, cleared and acknowledged.
    "start": ("start_time", "raised", "raised_at", "time_raised", "on", "on_time", "time_on",
              "alarm_on", "begin", "begin_time", "activated", "activated_at", "occurred",
              "occurrence_time", "set_time", "onset", "alarm_start", "time_in", "start"),
    "end": ("end_time", "cleared", "cleared_at", "time_cleared", "off", "off_time", "time_off",
            "alarm_off", "returned", "return_time", "rtn", "rtn_time", "normal_at", "clear_time",
            "time_normal", "alarm_end", "time_out", "returned_to_normal", "stop", "stop_time"),
    "ack": ("ack_time", "acked", "acknowledged", "acknowledged_at", "time_ack", "ack_at",
            "accepted", "accept_time", "time_acknowledged", "ack_on"),
    "point": ("sampling_point", "sample_point", "point_name", "point_id", "sample_location",
              "location", "tag", "tag_name", "tagname", "position", "sample_line",
              "tank", "line", "measuring_point", "sampling_position"),
    "gas": ("component", "species", "gas_type", "measurand", "gas_name", "parameter"),
    "value": ("reading", "concentration", "conc", "measured_value", "measurement", "result", "pv",
              "gas_value", "gas_reading"),
    "unit": ("units", "uom", "engineering_unit", "eng_unit", "eu"),
    "status": ("quality", "value_status", "reading_status", "data_quality", "validity"),
    "flow": ("flow_rate", "flowrate", "sample_flow", "sampling_flow", "sample_flow_rate"),
    "suction": ("vacuum", "vac", "underpressure", "under_pressure", "sample_vacuum",
                "suction_pressure", "pump_vacuum", "line_vacuum"),
    "temperature": ("temp", "sample_temperature", "sample_temp", "gas_temperature"),
    "humidity": ("rh", "relative_humidity", "rel_humidity", "sample_humidity"),
    "analyser": ("analyzer", "analyser_id", "analyzer_id", "analyser_name", "cabinet_no"),
    "event": ("event_type", "alarm_type"),
    "state": ("alarm_state", "event_state", "condition", "alarm_status", "active", "in_alarm",
              "alarm_active", "transition", "on_off"),
    "level": ("alarm_level", "alarm_name"),
    "text": ("message", "description", "alarm_text", "event_text", "alarm", "alarm_message",
             "alarm_description", "message_text", "event_message", "event_description"),
    "action": ("operation", "activity", "work_done", "job"),
    "note": ("notes", "remark", "remarks", "comment", "comments", "entry", "log_entry", "logbook",
             "free_text"),
    "found": ("finding", "found_cause", "cause_found"),
    "reference": ("reference_value", "applied", "concentration_applied"),
    # What a table of setpoints may call its values; a file of readings may have it beside them.
    "limit": ("setpoint", "set_point", "threshold", "alarm_limit", "alarm_setpoint", "trip"),
    "deadband": ("hysteresis", "dead_band"),
}  # fmt: skip

GAS_WORDS: dict[str, tuple[str, ...]] = {
    "HC": ("hc", "flammable", "flammables", "flammable gas", "flam", "lel", "lfl", "hydrocarbon",
           "hydrocarbons", "hydrocarbon gas", "hc gas", "comb", "combustible", "combustibles",
           "combustible gas", "ch4", "methane", "c3h8", "propane", "c4h10", "butane", "%lel",
           "%lfl", "ex", "cxhy"),
    "H2S": ("h2s", "hydrogen sulphide", "hydrogen sulfide", "hydrogensulphide", "sulphide", "h₂s"),
    "O2": ("o2", "oxygen", "oxy", "o₂"),
    "CO": ("co", "carbon monoxide", "carbonmonoxide"),
}  # fmt: skip

STATUS_WORDS: dict[str, tuple[str, ...]] = {
    "ok": ("good", "valid", "normal", "true", "measured", "healthy", "192"),
    "over_range": ("over", "overrange", "over_scale", "overscale", "ovr", "ovrange", "saturated",
                   "ol", "high_range", "above_range"),
    "under_range": ("under", "underrange", "under_scale", "underscale", "udr", "below_range",
                    "below_detection"),
    "fault": ("bad", "fail", "failed", "failure", "error", "err", "invalid", "faulty", "trouble",
              "flt", "false"),
    "test": ("cal", "calibration", "span", "zero", "bump", "bump_test", "test_gas", "maint"),
    "not_sampled": ("disc", "disconnected", "disconn", "skipped", "skip", "off", "bypass",
                    "bypassed", "out_of_service", "oos", "isolated", "no_sample", "not_connected"),
}  # fmt: skip

# What stands in a value cell instead of a number.
VALUE_WORDS: dict[str, tuple[str, ...]] = {
    "over_range": (*STATUS_WORDS["over_range"], "over_range", "+++", "++++", "++", ">>>", "^^^"),
    "under_range": (*STATUS_WORDS["under_range"], "under_range", "<<<", "nd", "n.d.", "bdl"),
    "fault": ("fail", "failed", "failure", "fault", "faulty", "error", "err", "bad", "invalid",
              "flt", "i/o_timeout", "#value!", "#n/a", "#div/0!", "#ref!", "comm_fail"),
    "test": ("cal", "calibration", "span", "zero", "bump", "test"),
    "not_sampled": (*STATUS_WORDS["not_sampled"], "not_sampled", "---", "--", "----", "-", "n/a",
                    "na", "nil", "null", "none", "nan", "no_data", "no_value"),
}  # fmt: skip

# What programs write into a cell that holds nothing.
NOTHING = {"n/a", "na", "nan", "#n/a", "null", "none", "nil", "#ref!", "#value!", "<na>"}

EVENT_WORDS: dict[str, tuple[str, ...]] = {
    "alarm": ("gas_alarm", "gas", "alm", "gasalarm"),
    "fault": ("failure", "fault_alarm", "system_fault", "trouble", "malfunction", "flt"),
}
STATE_WORDS: dict[str, tuple[str, ...]] = {
    "raised": ("on", "active", "raise", "set", "activated", "1", "start", "in_alarm"),
    "cleared": ("off", "normal", "clear", "rtn", "return_to_normal", "returned", "inactive", "0",
                "end", "ended", "ok", "healthy"),
    "acknowledged": ("ack", "acked", "acknowledge", "acknowledgement", "accepted", "accept"),
    "muted": ("mute", "silenced", "silence", "horn_off"),
    "reset": ("reset_done", "system_reset"),
}  # fmt: skip


def key(text: str) -> str:
    """Return a name for comparing: lower case, one underscore for each run of separators.

    Examples
    --------
    >>> key(" Sample-Point  Name ")
    'sample_point_name'
    """
    return re.sub(r"[\s_\-/.]+", "_", text.strip().strip("\"'\ufeff").lower()).strip("_:")


def _turned(words: dict[str, tuple[str, ...]]) -> dict[str, str]:
    out = {plain: plain for plain in words}
    for plain, others in words.items():
        for other in others:
            out.setdefault(other, plain)
    return out


COLUMNS = _turned(COLUMN_WORDS)
STATUSES = _turned(STATUS_WORDS)
EVENTS = _turned(EVENT_WORDS)
STATES = _turned(STATE_WORDS)
VALUES = _turned(VALUE_WORDS)
_GASES = {word: gas for gas, words in GAS_WORDS.items() for word in words}


def gas_of(text: str) -> str:
    """Return the gas channel that a text names, blank when it names none.

    Examples
    --------
    >>> gas_of("Flammable"), gas_of("H2S"), gas_of("NH3")
    ('HC', 'H2S', '')
    """
    if text in GAS_UNITS:
        return text
    return _GASES.get(re.sub(r"[\s_\-]+", " ", text.strip().lower()), "")


def status_of(text: str) -> str:
    """Return the status that a status cell names, blank when it names none."""
    return STATUSES.get(key(text), "")


def value_status(text: str) -> str:
    """Return the status that a word in a value cell stands for, blank when it names none.

    Examples
    --------
    >>> value_status("+++"), value_status("n/a"), value_status("DISC")
    ('over_range', 'not_sampled', 'not_sampled')
    """
    plain = text.strip().lower()
    return VALUES.get(plain) or VALUES.get(re.sub(r"[\s_\-]+", "_", plain), "")
