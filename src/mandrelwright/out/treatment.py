"""The treatment plan as rows for report and bench: when, what, size, roughness, wait, check."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.size_change import SizeChange
from mandrelwright.stages.surface import Treatment

HEADS = ("step", "from hour", "in vapour", "changes the diameter by", "leaves Ra", "then wait",
         "before the next, check")  # fmt: skip
RING_HEADS = ("smoothing", "rings", "time constant", "scatter of rings", "takes off",
              "95 % of moulds")  # fmt: skip
AIR_HEADS = ("still air of", "to the exposure limit", "at once dangerous to life",
             "explodes")  # fmt: skip
CALENDAR = "Hours from the first treatment. Waits are the least; the check decides."
RINGS = "What the rings predict for the mould's own time in the vapour."
AIR = (
    "Liquid that brings still, evenly mixed air to each limit. Dangers, none of them an allowance: "
    "work outdoors."
)
NOTHING = "–"
BY_THE_CAN = "as the can says"
CHECKS = {
    "sand": "wiped clean and dry; calipers at every mark",
    "fill": "sands to dust without clogging; calipers at every mark",
    "smooth": "weight stays the same a day apart; no smell; calipers at every mark",
    "wax": "buffed clear, no streak under a lamp",
    "film": "dry to the touch everywhere, no bare spot, no fold",
}


def tables(plan: Plan) -> Iterator[tuple[str, str, tuple[str, ...], list[tuple[str, ...]]]]:
    """Name, text, heads and rows of every table of the treatment plan that has rows."""
    for name, text, heads, lines in (
        ("Treatment calendar", CALENDAR, HEADS, rows(plan)),
        ("Smoothed rings", RINGS, RING_HEADS, rings(plan)),
        ("Solvent in still air", AIR, AIR_HEADS, air(plan)),
    ):
        if cells := list(lines):
            yield name, text, heads, cells


def rows(plan: Plan) -> Iterator[tuple[str, ...]]:
    """The treatment calendar, one row per treatment and one for the film, under HEADS."""
    surface = plan.surface
    changes = {change.label: change for change in (*surface.treatments, *surface.films)}
    told = set()
    for step in surface.steps:
        change = changes.get(step.does if step.does == "wax" else step.label)
        first = change is not None and change.label not in told
        told |= {change.label} if change else set()
        yield (
            step.label,
            f"{step.begins / 3600.0:.0f}",
            show(step.takes, "min", 0) if step.takes else NOTHING,
            _size(change) if first else "with the first wax",
            _span(step),
            _wait(step.waits),
            CHECKS[step.does],
        )
    film = changes.get("release film")
    if film is not None:
        begins = f"{surface.ready / 3600.0:.0f}"
        yield (plan.job.release.system, begins, NOTHING, _size(film), NOTHING, BY_THE_CAN,
               CHECKS["film"])  # fmt: skip


def ready(plan: Plan) -> str:
    """When the mould may see resin at the earliest."""
    hours = plan.surface.ready / 3600.0
    if not plan.surface.steps:
        return "No treatment is stated."
    return (
        f"Lay-up {hours:.0f} h after the first treatment at the earliest, and what the cans ask "
        "for on top. The scale and the touch decide, not this clock."
    )


def rings(plan: Plan) -> Iterator[tuple[str, ...]]:
    """What smoothed rings predict, under RING_HEADS."""
    for fit in plan.surface.rings:
        low, high = fit.band
        source = {"rings": "by the rings", "job": "as stated", "library": "the library's"}
        yield (
            fit.label,
            str(fit.rings),
            f"{show(fit.time_constant, 'min', 1)}, {source[fit.told]}",
            show(fit.scatter, "mm", 3),
            show_spread(fit.loss, fit.spread, "mm", 3),
            f"{low * 1e3:.3f} to {show(high, 'mm', 3)}".replace("-", "−"),
        )


def air(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Liquid that brings still air to each limit, under AIR_HEADS; dangers, no allowance."""
    for hazard in plan.surface.hazards:
        amounts = (hazard.exposure, hazard.danger, hazard.explosive)
        yield hazard.label, *(_millilitres(amount) for amount in amounts)


def rings_first(plan: Plan) -> Iterator[str]:
    """Rings to smooth before the mould, where nobody has measured its loss."""
    for item in plan.surface.plans:
        digits = 0 if item.times[0] >= 300.0 else 1
        minutes = ", ".join(f"{time / 60.0:.{digits}f}" for time in item.times)
        yield (
            f"First {item.rings} rings of {show(item.diameter, 'mm', 0)}, {item.each} each for "
            f"{minutes} min, read {item.readings} times around before and a week after: they bring "
            f"the doubt of {item.label} from {show(item.now, 'mm', 3)} to about "
            f"{show(item.expected, 'mm', 3)}."
        )


def dryness(plan: Plan) -> Iterator[tuple[str, str]]:
    """How dry each smoothed mould is, by name."""
    for item in plan.surface.drying:
        band = f"{show(item.soonest, 'd', 0)} to {show(item.latest, 'd', 0)}"
        text = f"{item.dry}; solvent leaves the skin in {band}, roughly"
        if math.isfinite(item.rate):
            told = show_spread(item.rate, item.spread, "%/d", 3).replace("-", "−")
            text = f"{item.dry}: loses {told}, dry below {show(item.limit, '%/d', 2)}"
        yield f"dry after {item.label}", text


def _size(change: SizeChange | None) -> str:
    if change is None:
        return NOTHING
    value = f"{change.diameter * 1e3:+.3f} ± {change.spread * 1e3:.3f} mm"
    return value.replace("-", "−")


def _span(step: Treatment) -> str:
    """Range of Ra along the mould."""
    low, high = (show(float(f(step.roughness)), "um", 1) for f in (np.min, np.max))
    return low if low == high else f"{low.removesuffix(' µm')} to {high}"


def _wait(waits: float) -> str:
    return BY_THE_CAN if math.isnan(waits) else show(waits, "h", 0) if waits else NOTHING


def _millilitres(volume: float) -> str:
    digits = 0 if volume >= 10e-6 else 1 if volume >= 1e-6 else 3
    return show(volume, "mL", digits)
