"""Sequences of steps that may free a part, mildest first."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.stages.cooling import SOONEST, Step

HOUR = 3600.0
FREEZER = 255.15  # K, a household freezer at -18 °C
COLD_WATER = 283.15  # K, from the tap in winter, or with a handful of ice
WARM = 313.15  # K, bearable to the hand
LEAST_WARM = 8.0  # K above the shop: less moves nothing
FREEZING, DIPPED, SOAKED = (1.0, 2.0, 4.0, 8.0, 16.0), (0.5, 2.0), (8.0, 24.0)  # h
LONG = (4.0, 16.0)  # h of cold before something warm from outside


def untouched(shop: float) -> tuple[Step, ...]:
    """No step: a look at the part as it stands at the shop's temperature (K)."""
    return (Step(SOONEST, shop, "air"),)


def mildest_first(shop: float, most: float, soluble: bool) -> list[tuple[Step, ...]]:
    """Sequences to try, the mildest first; none warmer than ``most`` (K).

    As it stands; cold water; a hot box; a freezer, and out of it to the bench or into a hot box;
    and where water dissolves the film a long soak at the shop's temperature. Not warm water after
    the cold: what it gains is gone within a minute.
    """
    bench = Step(HOUR, shop, "air")
    tried = [untouched(shop)]
    tried += [(Step(HOUR * hours, COLD_WATER, "water"), bench) for hours in DIPPED]
    tried += [(Step(HOUR * hours, FREEZER, "freezer"), bench) for hours in FREEZING]
    if soluble:
        tried += [(Step(HOUR * hours, shop, "water"),) for hours in SOAKED]
    warm = min(WARM, most)
    if warm >= shop + LEAST_WARM:
        tried.append((Step(2.0 * HOUR, warm, "hot box"),))
        box = Step(0.5 * HOUR, warm, "hot box")
        tried += [(Step(HOUR * hours, FREEZER, "freezer"), box) for hours in LONG]
    return sorted(tried, key=lambda steps: hardship(steps, shop))


def hardship(steps: Sequence[Step], shop: float) -> tuple[float, float]:
    """How hard a sequence is on mould and part: K first, then hours.

    K = (T_shop − coldest) + 2 (warmest − T_shop); warmth counts twice, because it tightens the
    mould and takes the part towards its glass transition. Validity: assumed, a way to order.
    """
    below = max(shop - min(step.temperature for step in steps), 0.0)
    above = max(max(step.temperature for step in steps) - shop, 0.0)
    return below + 2.0 * above, sum(step.lasts for step in steps) / HOUR
