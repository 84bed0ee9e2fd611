"""What the chain is uncertain about: every input once, with its basis, from job and library."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Entry, Library
from mandrelwright.job.spec import Job
from mandrelwright.quantities import Quantity
from mandrelwright.stages.chain import Chain, Input, Station, Surrogate
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.shape import FitPlace, Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.states import SHOP_DOUBT
from mandrelwright.stages.surface import Surface
from mandrelwright.stages.textiles import NET, ROLL
from mandrelwright.stages.wall import Constituents, cure_shrinkage, free_strains

Array = NDArray[np.float64]

REACH = 4.0  # standard uncertainties over which the responses are tabulated
NODES = (7, 9)  # stations of the table: fibre fraction, angle
DEGREES = (4, 6)
LEAST_DOUBT = 0.5  # K: no thermometer on a mould tells its mean better
SCATTER = ("job.printer.diameter_scatter | materials.practice.print.diameter_scatter*",)
FRACTION = "job.compaction.fibre_fraction"
COATS = {"fill": "coat of filler", "prime": "coat of primer", "paint": "coat of paint",
         "clear": "clear coat"}  # fmt: skip
FLATTEST, STEEPEST = np.radians(1.0), np.radians(88.0)  # a turned tow stays between


def open_chain(
    job: Job,
    shape: Shape,
    stack: Stack,
    surface: Surface,
    cure: Cure,
    parts: Constituents,
    library: Library,
) -> Chain:
    """Every uncertain input, the fits' stations, and what printed rings have told already."""
    inputs = _print_inputs(job, shape, library) + _surface_inputs(surface)
    inputs += [*_laminate_inputs(job, stack, library), *_cure_inputs(job, cure, library)]
    for row, fit in enumerate(job.fits, 1):
        doubt = fit.mates.spread or job.shop.caliper.value
        key = f"job.fit[{row}].mates"
        uses = (key,) if fit.mates.spread else (key, "job.shop.caliper")
        mate = Input(f"mate {fit.name}", fit.mates.value, doubt, "mm", "measured", "job", uses)
        inputs.append(mate)
        inputs.append(_of_entry(f"form {fit.name}", library.practice["print"], "form", "mm"))
    coats = _coats(job)
    laid = {place.name: _laid_on(place, shape, coats) for place in shape.fits}
    inputs += [coat for coat, _ in coats if any(coat.name in names for names in laid.values())]
    by_name = {item.name: item for item in inputs}
    stations = tuple(
        _station(place, stack, parts, by_name, laid[place.name]) for place in shape.fits
    )
    chain = Chain(
        tuple(inputs),
        np.diag([item.spread**2 for item in inputs]),
        np.array([item.mean for item in inputs]),
        job.shop.measured_at.value,
        tuple(item.label for item in surface.treatments),
        tuple(item.label for item in surface.films),
        stations,
    )
    return with_rings(chain, job, library)


def _of_entry(
    name: str, entry: Entry, key: str, unit: str, stated: Quantity | None = None, at: str = ""
) -> Input:
    """An input as stated ``at`` a key of the job, the library lending a spread where none is."""
    datum = entry[key]
    library_spread = datum.spread if np.isfinite(datum.spread) else abs(datum.value)
    path = f"materials.{entry.path}.{key}"
    if stated is None:
        return Input(name, datum.value, library_spread, unit, datum.basis, datum.source, (path,))
    if stated.spread > 0.0:
        return Input(name, stated.value, stated.spread, unit, "stated", "job", (at,))
    source = f"job; spread: {datum.source}"
    return Input(name, stated.value, library_spread, unit, "stated", source, (at, path))


def _print_inputs(job: Job, shape: Shape, library: Library) -> list[Input]:
    """Shrink both ways, offset and scatter of the print, expansion of the mould."""
    plastic, practice = library.plastics[job.mould.plastic], library.practice["print"]
    shrink = job.printer.shrink.across if job.printer.shrink else None
    up = job.printer.shrink.up if job.printer.shrink else None
    scatter = print_scatter(job, library, 2.0 * shape.radius(shape.lead.stop))
    return [
        _of_entry("shrink", plastic, "shrink_across", "%", shrink, "job.printer.shrink.across"),
        _of_entry("shrink up", plastic, "shrink_up", "%", up, "job.printer.shrink.up"),
        _of_entry("offset", practice, "offset", "mm", job.printer.offset, "job.printer.offset"),
        Input("scatter", 0.0, scatter, "mm", *_scatter_basis(job, library)),
        _of_entry("mould expansion", plastic, "expansion", "ppm/K"),
    ]


def print_scatter(job: Job, library: Library, diameter: float) -> float:
    """Standard deviation of a printed diameter from one print to the next (m).

    u = √[fixed² + (share·diameter)²] where the job states none; that the parts are
    independent is assumed.
    """
    if job.printer.diameter_scatter is not None:
        return job.printer.diameter_scatter.value
    practice = library.practice["print"]
    share = practice["diameter_scatter_share"].value
    return float(np.hypot(practice["diameter_scatter"].value, share * diameter))


def _scatter_basis(job: Job, library: Library) -> tuple[str, str, tuple[str, ...]]:
    if job.printer.diameter_scatter is not None:
        return "stated", "job", ("job.printer.diameter_scatter",)
    datum = library.practice["print"]["diameter_scatter"]
    return datum.basis, datum.source, (*SCATTER, "shape.pieces", "shape.fits.{name}.stop")


def _surface_inputs(surface: Surface) -> list[Input]:
    """Every treatment and film by its label."""
    return [
        Input(item.label, item.diameter, item.spread, "mm", item.basis, item.source, item.uses)
        for item in (*surface.treatments, *surface.films)
    ]


def _laminate_inputs(job: Job, stack: Stack, library: Library) -> list[Input]:
    """Fibre fraction, angle, tow weight, cure strain and springback."""
    braid_practice = library.practice["braid"]
    resin = library.resins[job.resin.name]
    fraction = job.compaction.fibre_fraction
    squeezed = library.compactions[job.compaction.method]
    shrinkage, doubt = cure_shrinkage(job, library)
    stated = job.stated.cure_strain is not None
    datum = resin["cure_shrinkage"]
    tow = max(layer.textile.weight_spread for layer in stack.layers)
    return [
        _of_entry("fibre fraction", squeezed, "fibre_fraction", "%", fraction, FRACTION),
        _of_entry("braid angle", braid_practice, "angle_error", "deg"),
        Input("tow", 1.0, tow, "", "stated", "job", (*NET, *ROLL)),
        Input(
            "cure shrinkage",
            -shrinkage,
            doubt or datum.spread,
            "%",
            "stated" if stated else datum.basis,
            "job" if stated else datum.source,
            ("job.stated.cure_strain" if stated else f"materials.{resin.path}.cure_shrinkage",),
        ),
        _of_entry("springback", library.practice["free part"], "springback", "%"),
    ]


def _cure_inputs(job: Job, cure: Cure, library: Library) -> list[Input]:
    """Setting and the share of the cure strain kept, as the cure gives them unless stated."""
    at, kept = job.stated.set_temperature, job.stated.share_kept
    told, key = ("stated", "job"), "job.stated."
    if at is None:
        value, spread = cure.set_temperature, max(cure.set_spread, LEAST_DOUBT)
        setting = Input(
            "set temperature", value, spread, "degC", "derived", "cure", ("cure.set_temperature",)
        )
    else:
        doubt = at.spread or SHOP_DOUBT
        uses = (f"{key}set_temperature",)
        setting = Input("set temperature", at.value, doubt, "degC", *told, uses)
    if kept is None:
        share, spread = cure.share_kept, cure.kept_spread
        basis = library.practice["cure"]["strain_relaxed"]
        origin = basis.basis, basis.source, ("cure.share_kept",)
        return [setting, Input("share kept", share, spread, "", *origin)]
    uses = (f"{key}share_kept",)
    return [setting, Input("share kept", kept.value, kept.spread, "", *told, uses)]


def _coats(job: Job) -> list[tuple[Input, float]]:
    """Every coat of the finished outside, per side, and its end from the base (m)."""
    stated = job.assembly.finish if job.assembly else ()
    out = []
    for row, coat in enumerate(stated):
        before = sum(other.do == coat.do for other in stated[:row])
        name = COATS[coat.do] + (f" {before + 1}" if before else "")
        key = f"job.assembly.finish[{row + 1}]"
        size, end = coat.per_side, coat.from_base.value if coat.from_base else 0.0
        told = Input(name, size.value, size.spread, "mm", "stated", "job", (f"{key}.per_side",))
        out.append((told, end))
    return out


def _laid_on(place: FitPlace, shape: Shape, coats: list[tuple[Input, float]]) -> tuple[str, ...]:
    """Coats that lie on a flush fit; a shoulder is masked, a bore has none."""
    if place.fit.kind != "flush":
        return ()
    return tuple(coat.name for coat, end in coats if shape.base - end > place.start)


def with_rings(chain: Chain, job: Job, library: Library) -> Chain:
    """Condition shrink and offset on the rings that were printed and measured.

    reading = D(1 − s) + o for a ring of file diameter D, with the scatter of its own print and
    the uncertainty of its reading.
    """
    rings = job.printer.rings
    if not rings:
        return chain
    file = np.array([ring.file.value for ring in rings])
    reads = np.array([ring.reads.value for ring in rings])
    caliper = np.array([ring.reads.spread or job.shop.caliper.value for ring in rings])
    scatter = np.array([print_scatter(job, library, d) for d in file])
    return on_rings(chain, file, reads, np.hypot(caliper, scatter))


def on_rings(chain: Chain, file: Array, reads: Array, doubt: Array) -> Chain:
    """The chain after rings of file diameter ``file`` read ``reads`` ± ``doubt`` (m)."""
    shrink, offset = chain.index("shrink"), chain.index("offset")
    observation = np.zeros((len(file), len(chain.mean)))
    observation[:, shrink], observation[:, offset] = -file, 1.0
    predicted = file * (1.0 - chain.mean[shrink]) + chain.mean[offset]
    return chain.known(observation, reads - predicted, doubt)


def _station(
    place: FitPlace,
    stack: Stack,
    parts: Constituents,
    inputs: dict[str, Input],
    coats: tuple[str, ...],
) -> Station:
    """The place that decides a fit, with the wall's responses tabulated about its means."""
    x = stack.mould.x
    zone = np.flatnonzero((x >= place.start - 1e-9) & (x <= place.stop + 1e-9))
    if len(zone) == 0:
        zone = np.array([int(np.argmin(np.abs(x - place.start)))])
    bore = place.fit.kind == "bore"
    radius = stack.mould.r if bore else -stack.outside.r
    node = int(zone[np.argmin(radius[zone])])
    tangent = stack.meridian.tangent(stack.mould)
    table = _Table(stack, parts, node, float(tangent.cosine[node]), inputs)
    return Station(
        place,
        node,
        float(x[node]),
        1.0 / float(tangent.cosine[node]),
        table.expansion,
        table.cure,
        table.wall,
        table.radial,
        coats,
    )


class _Table:
    """Exact wall and free strains on a grid of (fibre fraction, angle), fitted by polynomials."""

    def __init__(
        self, stack: Stack, parts: Constituents, node: int, cosine: float, inputs: dict[str, Input]
    ) -> None:
        fraction, turn, tow = inputs["fibre fraction"], inputs["braid angle"], inputs["tow"]
        doubt = np.hypot(fraction.spread / fraction.mean, tow.spread)
        self.turns = _chebyshev(turn.mean, REACH * turn.spread, NODES[1])
        fractions = _chebyshev(fraction.mean, REACH * fraction.spread, NODES[0])
        weights = _chebyshev(1.0 / fraction.mean, REACH * doubt / fraction.mean, NODES[0])
        self.stack, self.node, self.cosine = stack, node, cosine
        walls, _, _ = self._laid(weights * stack.fibre_fraction)
        self.wall = _fitted(weights, self.turns, walls)
        _, angles, thickness = self._laid(stack.fibre_fraction / fractions)
        grid = np.repeat(fractions, NODES[1])[:, None, None]
        expansion, cure = free_strains(parts, grid, angles, thickness)
        shape = (NODES[0], NODES[1], 3)
        expansion = np.nan_to_num(expansion[:, 0].reshape(shape))
        per_resin = np.nan_to_num(cure[:, 0].reshape(shape)) / parts.resin.cure
        self.expansion = _fitted(fractions, self.turns, expansion[..., 1])
        self.cure = _fitted(fractions, self.turns, per_resin[..., 1])
        middle = (NODES[0] // 2, NODES[1] // 2, 2)
        self.radial = (float(expansion[middle]), float(per_resin[middle]))

    def _laid(self, weights: Array) -> tuple[Array, Array, Array]:
        """Radial wall (weight, turn); angles and thicknesses (weight·turn, layer, 1)."""
        radius = np.full_like(weights, self.stack.mould.r[self.node])
        x = np.full_like(weights, self.stack.mould.x[self.node])
        cosine = np.full_like(weights, self.cosine)
        angles: list[Array] = []
        thickness: list[Array] = []
        for layer in self.stack.layers:
            t = layer.over(radius, cosine, weights * layer.share(x))
            laid = layer.textile.laid_angle(radius + 0.5 * t * cosine)[:, None]
            turned = np.clip(laid + self.turns, FLATTEST, STEEPEST)
            thick = layer.textile.turned(t[:, None], laid, turned)
            families = layer.textile.families(turned)
            angles += families
            thickness += [thick / len(families)] * len(families)
            radius = radius + t * cosine
        wall = np.sum(thickness, axis=0) * self.cosine
        flat = (-1, len(angles), 1)
        order = (1, 2, 0)
        return (
            wall,
            np.transpose(angles, order).reshape(flat),
            np.transpose(thickness, order).reshape(flat),
        )


def _chebyshev(centre: float, half: float, count: int) -> Array:
    """Extrema of the Chebyshev polynomial on centre ± half, ascending."""
    half = max(half, 1e-9 * max(abs(centre), 1e-3))
    return np.asarray(centre - half * np.cos(np.pi * np.arange(count) / (count - 1)))


@lru_cache(maxsize=4)
def _fit(count: int, degree: int) -> Array:
    """The matrix that takes values at Chebyshev's extrema on ±1 to a polynomial's coefficients."""
    nodes = _chebyshev(0.0, 1.0, count)
    return np.asarray(np.linalg.pinv(np.vander(nodes, degree + 1, increasing=True)))


def _fitted(first: Array, second: Array, values: Array) -> Surrogate:
    """Least-squares polynomial of the tabulated values (first, second)."""
    centre = (0.5 * (first[0] + first[-1]), 0.5 * (second[0] + second[-1]))
    half = (0.5 * (first[-1] - first[0]), 0.5 * (second[-1] - second[0]))
    rows, columns = (_fit(count, degree) for count, degree in zip(NODES, DEGREES, strict=True))
    coefficients = rows @ values @ columns.T
    return Surrogate(
        coefficients, (float(centre[0]), float(centre[1])), (float(half[0]), float(half[1]))
    )
