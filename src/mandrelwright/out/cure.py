"""The cure in words and tables: by place, as a whole, and the post-cure proposed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.cure import Cure

PLACE_HEADS = ("from the base", "gels", "sets", "mould then", "warmest", "glass transition")
SOAK_HEADS = ("soak", "oven", "hold", "glass transition after it", "on the mould")


def places(cure: Cure) -> Iterator[tuple[str, ...]]:
    """One line per place, from the tip."""
    for place in cure.places:
        yield (
            place.label,
            hours(place.gel),
            hours(place.sets),
            show(place.set_temperature, "degC", 1),
            show(place.peak, "degC", 1),
            show(place.glass, "degC", 0),
        )


def soaks(cure: Cure) -> Iterator[tuple[str, ...]]:
    """One line per soak of the post-cure proposed."""
    for soak in cure.post_cure:
        yield (
            soak.label,
            show(soak.temperature, "degC", 0),
            show(soak.time, "h", 1),
            show(soak.glass, "degC", 0),
            "may stay on" if soak.on_mould else "off the mould",
        )


def facts(cure: Cure) -> Iterator[tuple[str, str]]:
    """What the builder asks of the clock and the thermometer."""
    yield "rate of cure", f"told by {cure.rate_told_by}, ±{100.0 * cure.rate_doubt:.0f} %"
    setting = show_spread(cure.set_temperature, cure.set_spread, "degC", 1)
    yield "mould as the leading fit sets", setting
    first, last = hours(cure.gel_first), hours(cure.gel_last)
    yield "gels", f"{first}{'' if first == last else f' to {last}'} after the lay-up"
    yield "next session bonds by itself", f"until {hours(cure.recoat_until)}; then wash and scuff"
    yield "may be pulled", f"from {hours(cure.release_after)}"
    yield "mould is cold", f"from {hours(cure.cold)}"
    glass = show_spread(cure.glass, cure.glass_spread, "degC", 0)
    yield "glass transition at the end of the schedule", glass
    yield "mould below its softening by", f"{cure.mould_margin:.0f} K"
    cup = f"{show(cure.cup_peak, 'degC', 0)} after {hours(cure.cup_time)}"
    yield "largest cup, left standing", cup
    if math.isfinite(cure.dew_point):
        yield "dew point", show(cure.dew_point, "degC", 0)


def hours(seconds: float) -> str:
    """Hours with one decimal, or that it never happens within two weeks."""
    return show(seconds, "h", 1) if math.isfinite(seconds) else "not within two weeks"
