"""Made-up repairs with a hidden state, and what of it could be known.

A fault of one point stays a while before the repair, and while it is there alarms come in clusters
at a rate of its own; others come now and then all the time. The repair cures it for good, or not at
all, or for a time drawn from a law of return, after which it is back, weaker or stronger. Three
mixes of such faults:

- *outbreak*: nothing, then a fault that breaks out on some day and is repaired after 2 to 12 of its
  clusters; it is back after a skew (log-normal) time;
- *steady*: the fault is there all the time seen before the repair, so that nothing tells how rare
  alarms are without it; alarms one by one; it is back after 0.5 to 10 days, all as likely;
- *by day*: as *outbreak*, but all alarms fall into half of the day, so that they follow each other
  closer than by chance; it is back after an exponential time.

The truth is the hidden state at the end of the log. Nobody can tell it yet where even an observer
who knows every rate, the law of return and the alarms is not nine in ten sure of it, even odds of
being there and away beforehand (*ideal observer*). The tool has to learn the rates from the log;
so has the *learner*, who knows the laws that the rates are drawn from and nothing else: nobody
with these alarms alone can do better on average, so its score is a ceiling for the tool's.
Nothing of either is worked out by the tool's own code.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import special, stats

SURE = 0.9
MOMENTS = 300
DRAWS = 6000
BEFORE, AFTER = 14.0, 30.0  # compared by the tool [d]


@dataclass(frozen=True)
class Hidden:
    """Rates [1/d] and the day on which the fault broke out; scalars, or one value a draw."""

    rate: np.ndarray
    again: np.ndarray  # once it is back
    rest: np.ndarray
    broke: np.ndarray


@dataclass(frozen=True)
class Mix:
    """The laws that one kind of case is drawn from."""

    cured: float
    useless: float
    back: stats.rv_frozen  # [d]
    rates: tuple[float, float]  # of the fault [1/d]
    again: tuple[float, float]
    rests: tuple[float, ...]  # shares of the rate
    sizes: tuple[float, ...]  # mean alarms in a cluster
    outbreak: bool
    day_only: bool = False


MIXES = {
    "outbreak": Mix(
        0.5,
        0.15,
        stats.lognorm(s=1.0, scale=4.0),
        (0.4, 6.0),
        (0.6, 1.5),
        (0.01, 0.02, 0.05, 0.1),
        (1.0, 1.0, 1.5, 3.0),
        outbreak=True,
    ),
    "steady": Mix(
        0.5,
        0.2,
        stats.uniform(0.5, 9.5),
        (0.3, 8.0),
        (0.7, 1.3),
        (0.002, 0.02, 0.05, 0.1),
        (1.0,),
        outbreak=False,
    ),
    "by day": Mix(
        0.5,
        0.2,
        stats.expon(scale=5.0),
        (0.5, 5.0),
        (0.5, 1.5),
        (0.02, 0.05, 0.1),
        (1.0,),
        outbreak=True,
        day_only=True,
    ),
}


@dataclass(frozen=True)
class Case:
    """One repair: the alarms of a short log, and the truth.

    Attributes
    ----------
    alarms : ndarray
        [h]
    purge, end : float
        [h]
    truth : str
        The hidden state at the end: held, came_back.
    known : str
        What the ideal observer is sure of: held, came_back, too_early.
    learnt, lenient : str
        What the learner says to agree with the ideal observer, and to be right, as often as can be.
    back_day, rate, ratio : float
        Day of return; rate of the fault [1/d]; mean rate after over before in the time compared.
    """

    alarms: np.ndarray
    purge: float
    end: float
    truth: str
    known: str
    learnt: str
    lenient: str
    back_day: float
    rate: float
    ratio: float


def draw(mix: Mix, rng: np.random.Generator) -> Case:
    """Return one made-up repair."""
    hidden, purge = _hidden(mix, rng)
    rate, again, rest, broke = (float(one) for one in vars(hidden).values())
    end = purge + float(np.exp(rng.uniform(np.log(0.5), np.log(25.0))))
    luck = rng.random()
    away = float(mix.back.rvs(random_state=rng))
    away = np.inf if luck < mix.cured else 0.0 if luck < mix.cured + mix.useless else away
    back = min(purge + away, end)
    spans = [(0.0, broke, rest), (broke, purge, rest + rate), (purge, back, rest)]
    spans.append((back, end, rest + again))
    starts = np.sort(np.concatenate([_poisson(mix, rng, *span) for span in spans]))
    if not (starts < purge).any():
        return draw(mix, rng)  # nobody repairs what gave no alarm
    size = float(rng.choice(mix.sizes))
    hours = np.concatenate([_cluster(rng, one * 24.0, size) for one in starts])
    hours = np.sort(hours[hours < end * 24.0])
    seen = Seen(mix, starts[starts < purge], starts[starts >= purge], purge, end)
    learnt, lenient = _learner(seen, rng)
    before = _mean(spans, max(0.0, purge - BEFORE), purge)
    return Case(
        hours,
        purge * 24.0,
        end * 24.0,
        "came_back" if back < end else "held",
        _words(_there(seen, hidden)[0], SURE)[0],
        learnt,
        lenient,
        back - purge,
        rate,
        _mean(spans, purge + 1.0 / 24.0, min(end, purge + AFTER)) / before,
    )


def _hidden(mix: Mix, rng: np.random.Generator, count: int = 1) -> tuple[Hidden, np.ndarray]:
    """Return hidden values and the day of the repair."""
    rate = np.exp(rng.uniform(*np.log(mix.rates), count))
    again = rate * rng.uniform(*mix.again, count)
    rest = rate * rng.choice(mix.rests, count)
    broke = rng.uniform(0.0, 8.0, count) if mix.outbreak else np.zeros(count)
    lasted = rng.uniform(2.0, 12.0, count) / rate + 0.2
    purge = broke + lasted if mix.outbreak else rng.uniform(5.0, 14.0, count)
    one = count == 1
    values = [value[0] if one else value for value in (rate, again, rest, broke, purge)]
    return Hidden(*values[:4]), values[4]


@dataclass(frozen=True)
class Seen:
    """What a log shows: clusters of alarms before and after a repair, and its days."""

    mix: Mix
    before: np.ndarray
    after: np.ndarray
    purge: float
    end: float


def _open(mix: Mix, days: np.ndarray | float) -> np.ndarray:
    """Return the days in which alarms can come, up to a day, at double rate: their mean is one."""
    days = np.asarray(days, float)
    return np.floor(days) + np.minimum(2.0 * (days % 1.0), 1.0) if mix.day_only else days


def _there(seen: Seen, hidden: Hidden) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the chance that the fault is there at even odds, and ln likelihood there and away."""
    mix, days = seen.mix, seen.end - seen.purge
    edges = np.linspace(0.0, days, MOMENTS)
    moment = np.concatenate([[0.0], (edges[1:] + edges[:-1]) / 2.0])
    later = (1.0 - mix.cured - mix.useless) * np.diff(mix.back.cdf(edges))
    chance = np.concatenate([[mix.useless], later])
    quiet = np.searchsorted(seen.after, seen.purge + moment)
    ends = _open(mix, np.array([seen.purge, seen.end]))
    off = _open(mix, seen.purge + moment) - ends[0]
    rest, again = (np.asarray(one)[..., None] for one in (hidden.rest, hidden.again))
    count, whole = len(seen.after), ends[1] - ends[0]
    fit = quiet * np.log(rest) + (count - quiet) * np.log(rest + again)
    fit = fit - rest * whole - again * (whole - off)
    there = special.logsumexp(fit + np.log(np.maximum(chance / chance.sum(), 1e-300)), axis=-1)
    away = (count * np.log(rest) - rest * whole)[..., 0]
    return special.expit(there - away), there, away


def _words(share: np.ndarray, sure: float) -> np.ndarray:
    share = np.atleast_1d(share)
    return np.where(share >= sure, "came_back", np.where(share <= 1.0 - sure, "held", "too_early"))


def _learner(seen: Seen, rng: np.random.Generator) -> tuple[str, str]:
    """Return the learner's two answers: by drawing hidden values and weighing them by the alarms.

    The day of the repair is known: the day of the outbreak follows from what the others were.
    """
    mix = seen.mix
    hidden, _ = _hidden(mix, rng, DRAWS)
    weight = np.zeros(DRAWS)
    if mix.outbreak:
        broke = rng.uniform(0.0, min(8.0, seen.purge), DRAWS)
        hidden = Hidden(hidden.rate, hidden.again, hidden.rest, broke)
    inside = len(seen.before) - np.searchsorted(seen.before, hidden.broke)
    first, last = _open(mix, hidden.broke), float(_open(mix, seen.purge))
    weight = weight + (len(seen.before) - inside) * np.log(hidden.rest)
    weight += inside * np.log(hidden.rest + hidden.rate)
    weight -= hidden.rest * last + hidden.rate * (last - first)
    share, there, away = _there(seen, hidden)
    back = mix.useless + (1.0 - mix.cured - mix.useless) * mix.back.cdf(seen.end - seen.purge)
    there, away = weight + there + np.log(back), weight + away + np.log(1.0 - back)
    top = max(there.max(), away.max())
    there, away = np.exp(there - top), np.exp(away - top)
    whole = (there + away).sum()
    says = _words(share, SURE)
    agrees = {key: (there + away)[says == key].sum() / whole for key in np.unique(says)}
    right = {"came_back": there.sum() / whole, "held": away.sum() / whole}
    right["too_early"] = agrees.get("too_early", 0.0)
    return _best(agrees), _best(right)


def _best(scores: dict[str, float]) -> str:
    pick: Callable[[str], float] = lambda key: scores[key]  # noqa: E731
    return str(max(scores, key=pick))


def _poisson(
    mix: Mix, rng: np.random.Generator, start: float, end: float, rate: float
) -> np.ndarray:
    count = rng.poisson(2.0 * rate * max(end - start, 0.0))
    days = rng.uniform(start, max(end, start), count)
    kept = days % 1.0 < 0.5 if mix.day_only else rng.random(count) < 0.5
    return days[kept]


def _cluster(rng: np.random.Generator, hour: float, size: float) -> np.ndarray:
    more = rng.geometric(1.0 / size) - 1
    return hour + np.concatenate([[0.0], rng.exponential(0.4, more)]).cumsum()


def _mean(spans: list[tuple[float, float, float]], start: float, end: float) -> float:
    parts = [(min(b, end) - max(a, start), rate) for a, b, rate in spans]
    return sum(max(length, 0.0) * rate for length, rate in parts) / max(end - start, 1e-9)
