"""Every sign read at every episode, before any weight is put to it: the slow part, done once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from alarmsift.evidence.budget import leftover, own_matters, shared_elsewhere
from alarmsift.evidence.follow import previous_is_kin
from alarmsift.evidence.pair_rose import pair_rose
from alarmsift.evidence.share_lost import share_lost
from alarmsift.evidence.ship import Ship
from alarmsift.evidence.sign import Sign
from alarmsift.evidence.stood import only_passed
from alarmsift.evidence.windows import Windows, build_windows
from alarmsift.shelf.finder import found
from alarmsift.tables.progress import SILENT, Progress

# "Soon" after an alarm [rounds]: the next turns of the point, one of them missing perhaps.
SOON_ROUNDS = 3.0
# So much further rise, as a share of the way to the setpoint, is more than a level explains (CP).
OUTGREW = 0.5
# Logs that hold so small a share of the turns show neither backgrounds nor what came before [-].
PATCHY_BELOW = 0.2
# Alarms are judged in portions, so that a chattering year fits into memory.
PORTION = 1500
# These families speak of the whole reading; the others only of what is left unexplained in it.
ABOUT_ALL = ("budget", "zero_speed", "channels", "size", "recurrence", "name", "pump", "found")


@dataclass(frozen=True)
class SignsRead:
    """What the signs read at E episodes, before any weight is put to it.

    Attributes
    ----------
    signs : DataFrame, S rows
        ``sign``, ``title``, ``family``, ``unit``, ``applies``.
    sentences : tuple of (str, str), length S
    strength, scaled, measure, first_row, last_row, source_file : ndarray, shape (E, S)
        ``scaled`` is the strength as far as the excess bears on the cause; rows are 0 for none.
    by_episode : DataFrame, E rows
        ``kind``, ``gas``, ``peak``, ``lone`` (not yet followed by another visit), ``seen`` (a
        reading at the raise), ``left`` (share of the way to the setpoint that nothing explains),
        ``kin``, ``elsewhere``, ``clean_soon``, ``outgrew``, ``passed``, ``share_lost``, ``pair``
        (as the guards take them), ``point`` (-1 for faults), ``raised``, ``cleared`` [h; NaN =
        still open], ``gas_found``, ``other_found``.
    """

    signs: pd.DataFrame
    sentences: tuple[tuple[str, str], ...]
    strength: np.ndarray
    scaled: np.ndarray
    measure: np.ndarray
    first_row: np.ndarray
    last_row: np.ndarray
    source_file: np.ndarray
    by_episode: pd.DataFrame


def read_signs(ship: Ship, episodes: pd.DataFrame, *, progress: Progress = SILENT) -> SignsRead:
    """Return what every sign reads at every episode: the slow part, done once."""
    signs = all_signs()
    sign_table = pd.DataFrame(
        {
            "sign": [s.key for s in signs],
            "title": [s.title for s in signs],
            "family": [s.family for s in signs],
            "unit": [s.unit for s in signs],
            "applies": [s.applies for s in signs],
            "applies_to": [s.applies for s in signs],
        }
    )
    n, n_signs = len(episodes), len(signs)
    strength, measure = np.full((2, n, n_signs), np.nan)
    first, last = np.zeros((2, n, n_signs), "int64")
    files = np.full((n, n_signs), "", dtype=object)
    peak, lone = np.full(n, np.nan), np.zeros(n, bool)
    matters, left, kin = np.ones(n), np.zeros(n), np.zeros(n, bool)
    seen, point, elsewhere = np.zeros(n, bool), np.full(n, -1), np.zeros(n, bool)
    clean_soon, outgrew, passed, lost, pair = np.zeros((5, n), bool)
    progress.stage("Judging alarms", n)
    for begin in range(0, n, PORTION):
        part = slice(begin, min(begin + PORTION, n))
        w = build_windows(ship, episodes.iloc[part])
        for s, sign in enumerate(signs):
            reading = sign.read(w)
            wanted = w.is_fault if sign.applies == "fault" else ~w.is_fault
            wanted = np.ones(len(w), bool) if sign.applies == "both" else wanted
            strength[part, s] = np.where(wanted, reading.strength, np.nan)
            measure[part, s] = reading.measure
            first[part, s], last[part, s], files[part, s] = _rows(w, reading.first, reading.last)
        peak[part], lone[part] = _peaks(w), _not_followed(w)
        outgrew[part], passed[part] = _outgrew(w, peak[part]), only_passed(w)
        lost[part], pair[part] = share_lost(w), pair_rose(w)
        matters[part] = np.where(w.is_fault, 1.0, own_matters(w))
        left[part] = np.where(w.is_fault, 0.0, leftover(w))
        kin[part] = previous_is_kin(w) & (np.nan_to_num(w.prev[:, w.at]) > 0.3 * w.x0)
        seen[part] = np.isfinite(w.shown[:, w.at]) & _crossed(w)
        point[part] = np.where(w.is_fault, -1, w.point)
        elsewhere[part], clean_soon[part] = shared_elsewhere(w), _clean_soon(w)
        progress.step(part.stop - part.start)
    about_excess = ~np.isin(sign_table["family"].to_numpy(object), ABOUT_ALL)
    by_episode = pd.DataFrame(
        {
            "kind": episodes["kind"].to_numpy(object),
            "gas": episodes["gas"].to_numpy(object),
            "peak": peak,
            "lone": lone,
            "seen": seen,
            "left": left,
            "kin": kin,
            "elsewhere": elsewhere,
            "patchy": _patchy(ship, episodes, point),
            "clean_soon": clean_soon,
            "outgrew": outgrew,
            "passed": passed,
            "share_lost": lost,
            "pair": pair,
            "point": point,
            "raised": ship.visits.since(episodes["raised"]),
            "cleared": ship.visits.since(episodes["cleared"]),
            "gas_found": episodes["gas_found"].to_numpy(float),
            "other_found": episodes["other_found"].to_numpy(float),
        }
    )
    return SignsRead(
        signs=sign_table,
        sentences=tuple((s.present, s.absent) for s in signs),
        strength=strength,
        scaled=np.where(about_excess[None, :], strength * matters[:, None], strength),
        measure=measure,
        first_row=first,
        last_row=last,
        source_file=files,
        by_episode=by_episode,
    )


def all_signs() -> list[Sign]:
    """Return every sign on the shelf."""
    return list(found("alarmsift.signs", "SIGN"))


def weights_table(signs: list[Sign]) -> pd.DataFrame:
    """Return the one table of weights that users see: a row a sign and cause."""
    return pd.DataFrame(
        [
            {
                "sign": sign.key,
                "cause": weight.cause,
                "present": weight.present,
                "absent": weight.absent,
                "reason": weight.reason,
                "source": weight.source,
            }
            for sign in signs
            for weight in sign.weights
        ],
        columns=["sign", "cause", "present", "absent", "reason", "source"],
    )


def _rows(
    w: Windows, first: np.ndarray | None, last: np.ndarray | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return source rows and file of the visits that a sign rests on."""
    at = np.full(len(w), w.at)
    a = np.clip(at if first is None else first, 0, w.visit.shape[1] - 1).astype(int)
    b = np.clip(at if last is None else last, 0, w.visit.shape[1] - 1).astype(int)
    rows = np.arange(len(w))
    start, end = w.visit[rows, a], w.visit[rows, b]
    raiser = w.visit[:, w.at]
    start = np.where(start >= 0, start, raiser)
    end = np.where(end >= 0, end, raiser)
    source = w.ship.logs.readings
    reading = np.full((2, len(w)), -1, "int64")
    for gas in w.ship.visits.gases:
        mine = (w.gas == gas) | ((w.gas == "") & (reading[0] < 0))
        of_visit = w.ship.visits.reading[gas]
        for which, visit in enumerate((start[mine], end[mine])):
            reading[which, mine] = np.where(visit >= 0, of_visit[visit], -1)
    row = source["source_row"].to_numpy()
    file = source["source_file"].cat.codes.to_numpy()
    names = np.append(np.asarray(source["source_file"].cat.categories, dtype=object), "")
    if not len(row):
        blank = np.zeros(len(w), "int64")
        return blank, blank, np.full(len(w), "", dtype=object)
    known = reading[0] >= 0
    first_row = np.where(known, row[reading[0]], 0)
    same = known & (reading[1] >= 0) & (file[reading[1]] == file[reading[0]])
    last_row = np.where(same, row[reading[1]], first_row)
    return first_row, np.maximum(first_row, last_row), names[np.where(known, file[reading[0]], -1)]


def _peaks(w: Windows) -> np.ndarray:
    """Return the reading furthest past the setpoint while the episode was open."""
    value = np.full(w.visit.shape, np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        value[mine] = np.append(w.ship.visits.raw[gas], np.nan)[w.visit[mine]]
    end = (w.cleared - w.raised)[:, None]
    inside = (w.rel >= -1e-6) & (w.rel <= end)
    inside[:, w.at] = w.visit[:, w.at] >= 0
    turn = np.where(w.rising, 1.0, -1.0)[:, None]
    top = np.where(inside & np.isfinite(value), turn * value, -np.inf).max(axis=1)
    top = np.where(np.isfinite(top), turn[:, 0] * top, np.nan)
    return np.where(np.isfinite(top), top, w.value)


def _patchy(ship: Ship, episodes: pd.DataFrame, point: np.ndarray) -> np.ndarray:
    """Tell at which alarms most readings of the gas are missing, at the point or at most points."""
    out, gas = np.zeros(len(point), bool), episodes["gas"].to_numpy(object)
    for name in ship.visits.gases:
        share, mine = ship.visits.share_of_turns(name), (gas == name) & (point >= 0)
        read = share[share > 0]
        usual = np.median(read) if len(read) else 0.0
        out[mine] = np.minimum(share[point[mine]], usual) < PATCHY_BELOW
    return out


def _crossed(w: Windows) -> np.ndarray:
    """Tell where the visit taken for the raising one shows it: else its reading is missing."""
    value = np.full(len(w), np.nan)
    for gas in w.ship.visits.gases:
        mine = w.gas == gas
        value[mine] = np.append(w.ship.visits.raw[gas], np.nan)[w.visit[mine, w.at]]
    short = np.where(w.rising, w.setpoint - value, value - w.setpoint)
    slack = np.fmax(2.0 * w.noise, np.fmax(1.01 * w.step, 0.05 * np.abs(w.setpoint)))
    return ~(short > slack)


def _clean_soon(w: Windows) -> np.ndarray:
    """Tell at which alarms the point was read again within a few rounds, and was clean."""
    after = (w.rel > 0) & (w.rel <= SOON_ROUNDS * w.ship.visits.cycle_hours) & np.isfinite(w.x)
    low = w.x < 0.5 * w.x0[:, None]
    return after.any(axis=1) & (after & low).any(axis=1) & ~w.is_fault


def _outgrew(w: Windows, peak: np.ndarray) -> np.ndarray:
    """Tell which alarms later rose by half the way to the setpoint or more above their raise."""
    turn, nominal = np.where(w.rising, 1.0, -1.0), np.where(w.gas == "O2", 20.9, 0.0)
    return turn * (peak - w.value) > OUTGREW * np.abs(w.setpoint - nominal)


def _not_followed(w: Windows) -> np.ndarray:
    """Tell which alarms were not yet followed by another valid visit of the point."""
    return ~np.isfinite(w.x[:, w.at + 1 :]).any(axis=1) & ~w.is_fault
