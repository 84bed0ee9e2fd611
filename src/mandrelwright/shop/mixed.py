"""What bores tell only in one sum: film, heat, cure and springback, and what would part them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.shop.learning import Lesson
from mandrelwright.shop.predicted import straight
from mandrelwright.stages.chain import Chain

Array = NDArray[np.float64]

PARTED = 0.5  # share of its doubt before that an input must keep at most, to be told apart
LEAST = 2e-6  # m: an input that moves the bore by less needs no telling apart
WAYS = {
    "film": ("filmed", "the mould read filmed tells the film"),
    "set temperature": ("", "a thermometer on the setting mould tells the heat"),
    "springback": ("set", "the outside at one mark on the mould and off it holds no film"),
}


@dataclass(frozen=True)
class Mixed:
    """A sum that bores tell: how far it lies from the plan, its doubt now and before (m).

    names: inputs of the sum that stay mixed, what moves the bore most first. ways: what would
    part them and was not read yet.
    """

    shift: float
    spread: float
    before: float
    names: tuple[str, ...]
    ways: tuple[str, ...]


def growth(chain: Chain) -> Array:
    """Slopes of the leading fit's bore over its ready mould, by input."""
    lead = chain.lead
    ready = np.array([lead.place.fit.mates.value])
    return straight(chain, lambda v: chain.bore(lead, v, ready)).sensitivities


def mixed_of(lesson: Lesson) -> Mixed | None:
    """The sum that the bores of a log tell; None where none was read or nothing stays mixed."""
    chain = lesson.chain
    back = chain.index("springback")
    if not any(item.slopes[back] for item in lesson.observed.observations):
        return None
    row, before = growth(chain), lesson.before
    own = np.abs(row) * np.sqrt(np.diag(before))
    left = np.sqrt(np.diag(lesson.lasting) / np.maximum(np.diag(before), 1e-300))
    rows = [n for n in np.argsort(-own) if own[n] > LEAST and left[n] > PARTED]
    names = tuple(chain.inputs[n].name for n in rows)
    mixed = {*names, *(["film"] if {*names} & {*chain.films} else [])}
    told = "".join(item.where for item in lesson.observed.observations)
    ways = tuple(
        way
        for name, (stage, way) in WAYS.items()
        if name in mixed and not (stage and f", {stage}, mark" in told)
    )
    if len(names) < 2 or not ways:
        return None
    shift = float(row @ (lesson.mean - chain.mean))
    spread, was = (float(np.sqrt(row @ V @ row)) for V in (lesson.lasting, before))
    return Mixed(shift, spread, was, names, ways)
