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
    """The step that remains, and at least three ways to meet it, in numbers.

    step = play − wanted; whole layers more or fewer; a thin cloth of areal weight
    gap·ρ_f·V_f; lighter sleeves; fill or sanding; another fibre fraction V_f·wall/needed.
    """
    wanted = next(place.wanted for place in shape.fits if place.fit.name == flush.name)
    step = flush.play - wanted
    needed = flush.wall - step
    layer = stack.layers[-1]
    one = layer.thickness(flush.diameter / 2.0)
    density = library.fibres[layer.textile.fibre]["density"].value
    remedies = _whole_layers(layer.textile.name, one, step, flush.play)
    if step < 0.0:
        remedies += say.fill_up(-step, -step * density * stack.fibre_fraction)
    else:
        remedies += say.take_off(step, step / flush.wall, 0.5 * one)
    fraction = stack.fibre_fraction * flush.wall / needed
    if 0.25 < fraction < 0.6:
        remedies.append(say.squeeze(fraction, stack.fibre_fraction))
    else:
        remedies.append(say.let_lead(flush.name, bore.name, -2.0 * step))
    return say.wall_does_not_close(
        bore.name, flush.name, flush.wall, needed, flush.play, tuple(remedies), _place(shape, flush)
    )


def _whole_layers(name: str, one: float, step: float, play: float) -> list[str]:
    """As many layers more or fewer as come nearest, when that is at least one."""
    whole = round(abs(step) / one)
    change = -whole if step > 0.0 else whole
    return [say.whole_layers(name, one, change, play + change * one)] if whole else []
