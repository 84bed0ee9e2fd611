"""Aim: which prepared mould, and which print, cost the least rework on average.

Two decisions cost differently to either side. Before lay-up a mould that is too large is
sanded and one that is too small gets wraps of film or is printed again. After it a tight bore
is honed and a loose one shimmed, until either is scrap. Costs are in minutes (library).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

REACH_OF_HAND = 0.3e-3  # m of play that honing or a shim can make up, common practice, no source
MOST_WRAPS = 3  # wraps of film before the mould is better printed again, assumed
SIGMAS = np.linspace(-4.0, 4.0, 161)  # quadrature of a normal distribution
ACTIONS = ("lay up", "sand", "film", "reprint")
WEIGHTS = np.exp(-0.5 * SIGMAS**2) / np.exp(-0.5 * SIGMAS**2).sum()
WORTH_MENDING = 0.10  # loss of probability for which a mould is mended before lay-up
WORTH_DOING = 0.5  # of the best mould's odds: a mending that leaves less is not one, judgement
GRID = 601
GRID_REACH = 6.0  # times the spread of play to either side of window and reach of hand
AIMS, AIM_REACH = 61, 1.5  # aims tried, and how far from the best mould in spreads of a print


@dataclass(frozen=True)
class Costs:
    """Minutes of rework, and what one wrap of film adds to the diameter (m)."""

    sand: float
    sand_per_metre: float
    film_wrap: float
    reprint: float
    hone: float
    shim: float
    scrap: float
    wrap: float


def read_costs(library: Library) -> Costs:
    """Rework costs and film from the library."""
    rework = library.practice["rework"]
    minutes = {
        key: rework[key].value / 60.0
        for key in ("sand", "film_wrap", "reprint", "hone", "shim", "scrap")
    }
    deeper = rework["sand_tenth"].value / 60.0 / 1e-4
    return Costs(
        **minutes,
        sand_per_metre=deeper,
        wrap=2.0 * library.releases["polyester film wrap"]["film"].value,
    )


@dataclass(frozen=True)
class Outcome:
    """What follows from the diameter of the prepared mould: tables over ``ready`` (m).

    probability of fit and expected minutes of rework when laid up at that diameter; best: the
    diameter of least rework; least, most: readings good enough to lay up as they are.
    """

    ready: Array
    probability: Array
    minutes: Array
    best: float = result("prepared diameter of least expected rework", "mm")
    least: float = result("smallest reading good enough to lay up", "mm")
    most: float = result("largest reading good enough to lay up", "mm")

    def fits(self, ready: Array | float) -> Array:
        """Probability of fit at a diameter of the prepared mould."""
        return np.asarray(np.interp(ready, self.ready, self.probability))


def outcome(
    play: Array, ready: float, slope: float, window: tuple[float, float], costs: Costs
) -> Outcome:
    """Tabulate fit and rework over the prepared mould's diameter.

    probability = P(least ≤ play ≤ most); minutes = P(tight)·hone + P(loose)·shim +
    P(out of reach)·(scrap − the lesser of hone and shim); best = where minutes are least.
    play (draw,): clearance or step drawn with the prepared mould at ``ready`` (m); it follows
    the mould by ``slope`` (1 of a bore, −1 of a shoulder, 1/2 of a flush step), which errs by
    parts in a thousand of the shift.
    """
    play = np.sort(play)
    reach = GRID_REACH * float(play.std()) + 0.5 * (window[1] - window[0]) + REACH_OF_HAND
    centre = 0.5 * (window[0] + window[1]) - float(play.mean())
    shift = (centre + np.linspace(-reach, reach, GRID)) / slope
    shift.sort()

    def below(limit: float) -> Array:
        return np.searchsorted(play, limit - slope * shift) / len(play)

    tight, loose = below(window[0]), 1.0 - below(window[1])
    ruined = below(window[0] - REACH_OF_HAND) + 1.0 - below(window[1] + REACH_OF_HAND)
    mended = tight * costs.hone + loose * costs.shim
    minutes = mended + ruined * (costs.scrap - min(costs.hone, costs.shim))
    best = int(np.argmin(minutes))
    probability = 1.0 - tight - loose
    laid = np.flatnonzero(probability < probability[best] - WORTH_MENDING)
    low = shift[laid[laid < best].max(initial=-1) + 1]
    high = shift[laid[laid > best].min(initial=len(shift)) - 1]
    return Outcome(
        ready + shift,
        probability,
        minutes,
        ready + float(shift[best]),
        ready + float(low),
        ready + float(high),
    )


@dataclass(frozen=True)
class Option:
    """One thing to do with prepared moulds of given diameters; arrays over them.

    amount: depth to sand (m) or wraps. after: diameter then (m). minutes: own and expected later.
    """

    action: str
    amount: Array
    after: Array
    probability: Array
    minutes: Array


def options(ready: Array, out: Outcome, costs: Costs) -> list[Option]:
    """Everything open at each diameter: lay up, sand, wraps of film, reprint.

    Sanding a mould that is not too large costs infinitely.
    """

    def option(
        action: str, amount: Array | float, after: Array | float, minutes: Array | float
    ) -> Option:
        after = np.broadcast_to(np.asarray(after, float), ready.shape)
        later = np.interp(after, out.ready, out.minutes)
        amounts = np.broadcast_to(np.asarray(amount, float), ready.shape)
        return Option(action, amounts, after, out.fits(after), minutes + later)

    depth = ready - out.best
    work = np.where(depth > 0.0, costs.sand + costs.sand_per_metre * depth, np.inf)
    films = [
        option("film", wraps, ready + wraps * costs.wrap, wraps * costs.film_wrap)
        for wraps in range(1, MOST_WRAPS + 1)
    ]
    sanded = option("sand", depth, out.best, work)
    reprinted = option("reprint", 0.0, out.best, costs.reprint)
    return [option("lay up", 0.0, ready, 0.0), sanded, *films, reprinted]


def is_open(option: Option, out: Outcome) -> NDArray[np.bool_]:
    """Whether it can be done and leaves at least WORTH_DOING of the best mould's odds of fit."""
    worth = option.probability >= WORTH_DOING * out.fits(out.best)
    return np.asarray(worth & np.isfinite(option.minutes))


def choose(ready: Array, out: Outcome, choices: list[Option]) -> NDArray[np.intp]:
    """Index of the best option at each diameter: lay up within the good range, else the
    mending of least expected minutes among those that are open; printing again always is."""
    minutes = [np.where(is_open(each, out), each.minutes, np.inf) for each in choices[1:]]
    cheapest = 1 + np.argmin(minutes, axis=0)
    return np.where((out.least <= ready) & (ready <= out.most), 0, cheapest)


def before_reading(doubt: float, caliper: float) -> float:
    """Spread of what the reading will say of a mould: √(doubt² − caliper²), m.

    A mould of standard uncertainty ``doubt`` parts into what a reading tells and the caliper's
    own doubt, which stays (law of total variance; a caliper much finer than the doubt).
    """
    return float(np.sqrt(max(doubt**2 - caliper**2, 0.0)))


def fits_about(ready: float, doubt: float, out: Outcome) -> float:
    """Probability of fit when moulds come out at ``ready`` ± ``doubt`` and are laid up (m).

    p = ∫ P(fit | ready + doubt·z) φ(z) dz, by quadrature over z from −4 to 4.
    """
    return float(out.fits(ready + doubt * SIGMAS) @ WEIGHTS)


@dataclass(frozen=True)
class Gate:
    """What the gate does on average: where to aim the print, and how often the part then fits."""

    aim: float = result("prepared diameter to print for", "mm")
    laid_up_unread: float = result("share of parts that fit, no mould read", "%")
    laid_up_read: float = result("share of parts that fit, every mould read and mended", "%")
    minutes: float = result("minutes of rework, mean")
    lay_up: float = result("share of moulds laid up as they are", "%")
    sand: float = result("share of moulds to sand", "%")
    film: float = result("share of moulds to wrap in film", "%")
    reprint: float = result("share of moulds to print again", "%")


def aim_print(doubt: float, out: Outcome, costs: Costs, caliper: float) -> Gate:
    """The diameter to print for, of least expected rework when every mould is read.

    aim = where E[minutes of the best action at aim + √(doubt² − caliper²)·z] is least.
    doubt: standard uncertainty (m) of the prepared mould about its aim; ``out`` was tabulated
    for a mould known to ± caliper. A mould is mended by the best action for its reading.
    """
    doubt = before_reading(doubt, caliper)
    aims = out.best + np.linspace(-AIM_REACH, AIM_REACH, AIMS) * doubt
    readings = aims[:, None] + doubt * SIGMAS
    choices = options(readings, out, costs)
    pick = choose(readings, out, choices)[None]

    def picked(values: list[Array]) -> Array:
        return np.asarray(np.take_along_axis(np.array(values), pick, axis=0)[0])

    expected = picked([option.minutes for option in choices]) @ WEIGHTS
    least = int(np.argmin(expected))
    probability = picked([option.probability for option in choices])[least]
    names = np.array([option.action for option in choices])[pick[0, least]]
    share = {name: float(WEIGHTS[names == name].sum()) for name in ACTIONS}
    return Gate(
        float(aims[least]),
        fits_about(float(aims[least]), doubt, out),
        float(probability @ WEIGHTS),
        float(expected[least]),
        *(share[name] for name in ACTIONS),
    )
