"""What can go wrong with the fits: walls that do not close, slopes, low odds."""

from __future__ import annotations

from mandrelwright.findings import fit as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.stages.fit import Fit, FitResult
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack

LIKELY = 0.5


def check_fit(shape: Shape, stack: Stack, fit: Fit, library: Library) -> list[Finding]:
    """Closure of the wall, fits on slopes, odds, and the measurement that helps most."""
    found = _closure(shape, stack, fit, library)
    for item, station in zip(fit.results, fit.chain.stations, strict=True):
        window = item.window[1] - item.window[0]
        width = window if item.kind != "flush" else 2.0 * window
        if item.varies > width:
            place = (station.place.start, station.place.stop)
            found.append(say.on_a_slope(item.name, item.varies, width, place))
        elif item.leads and item.probability < LIKELY:
            found.append(say.unlikely(item.name, item.probability, window, item.spread))
        elif not item.leads and item.mendable < LIKELY:
            found.append(say.thin_reserve(item.name, item.mendable))
    name, share = fit.blame[0]
    found.append(say.measure_next(name, share, fit.forecast.unread, fit.forecast.ring))
    return found


def _closure(shape: Shape, stack: Stack, fit: Fit, library: Library) -> list[Finding]:
    """Every pair of a bore and a flush fit that share a place and leave a step."""
    found = []
    for flush in fit.results:
        for bore in fit.results:
            if flush.kind == "flush" and bore.kind == "bore" and _overlap(shape, flush, bore):
                least, most = flush.window
                if not least <= flush.play <= most:
                    found.append(_step(shape, stack, flush, bore, library))
    return found


def _overlap(shape: Shape, one: FitResult, other: FitResult) -> bool:
    """Whether two fits share a place along the part."""
    a, b = (_place(shape, item) for item in (one, other))
    return a[0] < b[1] and b[0] < a[1]


def _place(shape: Shape, item: FitResult) -> tuple[float, float]:
    place = next(place for place in shape.fits if place.fit.name == item.name)
    return place.start, place.stop


def _step(
    shape: Shape, stack: Stack, flush: FitResult, bore: FitResult, library: Library
) -> Finding:
    """The step that remains, and three ways to meet it, in numbers.

    A thin cloth of areal weight gap·ρ_f·V_f, whole layers more or fewer, fill or sanding,
    another fibre fraction V_f·wall/needed.
    """
    wanted = next(place.wanted for place in shape.fits if place.fit.name == flush.name)
    step = flush.play - wanted
    needed = flush.wall - step
    layer = stack.layers[-1]
    one = layer.thickness(flush.diameter / 2.0)
    remedies = []
    whole = round(abs(step) / one)
    if whole:
        word, left = ("more", step + whole * one) if step < 0 else ("fewer", step - whole * one)
        remedies.append(
            f"{whole} {word} of {layer.textile.name} ({one * 1e3:.2f} mm each): "
            f"{abs(left) * 1e3:.2f} mm {'proud' if left > 0 else 'low'} remain"
        )
    if step < 0.0:
        density = library.fibres[layer.textile.fibre]["density"].value
        cloth = -step * density * stack.fibre_fraction
        remedies.append(
            f"thin cloth of {cloth * 1e3:.0f} g/m² in all brings the missing {-step * 1e3:.2f} mm"
        )
        remedies.append(f"fill {-step * 1e3:.2f} mm a side outside and fair it")
    else:
        remedies.append(
            f"sand {step * 1e3:.2f} mm a side off: only filler or resin, never more than "
            f"half the outer layer ({0.5 * one * 1e3:.2f} mm)"
        )
    fraction = stack.fibre_fraction * flush.wall / needed
    remedies.append(
        f"squeeze to a fibre fraction of {100 * fraction:.0f} % instead of "
        f"{100 * stack.fibre_fraction:.0f} %"
        if 0.25 < fraction < 0.6
        else "use a sleeve of another weight for one layer"
    )
    return say.wall_does_not_close(
        bore.name, flush.name, flush.wall, needed, flush.play, tuple(remedies), _place(shape, flush)
    )
