"""A post-cure that stays below the glass transition: soaks, each as long as the next needs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial

from mandrelwright.job.materials import Library
from mandrelwright.physics.kinetics import conversion_after, time_between
from mandrelwright.quantities import ICE_POINT
from mandrelwright.stages.record import result
from mandrelwright.stages.resin import Resin

STEP = 5.0  # K from one soak to the next
AHEAD = 2.0  # K that the glass transition leads the next soak by
LONGEST = 12.0 * 3600.0  # s; a soak that takes longer leads nowhere
HALF_HOUR = 1800.0
LAST = 4.0 * 3600.0  # s at the warmest
BELOW_FULL = 15.0  # K: nearer the full network's T_g cure takes days
COOLEST = 25.0  # °C


@dataclass(frozen=True)
class Soak:
    """One soak: what the oven is set to, for how long, the glass transition after it."""

    label: str
    temperature: float = result("oven", "degC")
    time: float = result("hold", "h")
    glass: float = result("glass transition after it", "degC")
    on_mould: bool = result("whether the mould stands it")


def propose(resin: Resin, conversion: float, softens: float, library: Library) -> tuple[Soak, ...]:
    """Soaks 5 K apart, each held until T_g is 2 K above the next: t = ∫ dα/r.

    From a conversion up to 15 K below the T_g of the full network; times are longer by the
    rate's doubt and rounded up to half hours. softens (K): the mould is kept below by the
    library's margin. Ends where a soak would take more than 12 h; empty below 25 °C.
    """
    glass = resin.kinetics.glass
    stands = softens - library.practice["cure"]["mould_margin"].value
    top = float(glass.full) - BELOW_FULL
    T = ICE_POINT + STEP * math.floor(
        (float(glass.transition(conversion)) - AHEAD - ICE_POINT) / STEP
    )
    out: list[Soak] = []
    while ICE_POINT + COOLEST <= T <= top:
        rate = partial(resin.kinetics.rate, T)
        if top >= T + STEP:
            goal = float(glass.conversion(T + STEP + AHEAD))
            time = time_between(rate, conversion, goal)
        else:
            time, goal = LAST, conversion_after(rate, LAST, start=conversion)
        time = HALF_HOUR * math.ceil(time * (1.0 + resin.doubt) / HALF_HOUR)
        if time > LONGEST:
            break
        conversion = goal
        out.append(Soak(f"{len(out) + 1}", T, time, float(glass.transition(goal)), stands >= T))
        T += STEP
    return tuple(out)
