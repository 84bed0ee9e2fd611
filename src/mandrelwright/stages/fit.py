"""Step 8, Fit: the dimension chain of every fit, the aim, the size map, how likely it fits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import uncertainty
from mandrelwright.physics.curves import Curve
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain, Parts, Station
from mandrelwright.stages.chain_inputs import on_rings, open_chain, print_scatter
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.sizes import SizeMap
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.surface import Surface
from mandrelwright.stages.wall import Constituents, Wall

Array = NDArray[np.float64]

DRAWS = 20_000
SEED = 1
SLOPE = {"bore": 1.0, "shoulder": -1.0, "flush": 0.5}  # of play over the mould's diameter


@dataclass(frozen=True)
class Link:
    """One rung of the ladder: what it adds to the diameter, and its share of doubt (m)."""

    label: str
    change: float
    spread: float
    basis: str
    source: str


@dataclass(frozen=True)
class FitResult:
    """One fit as predicted when the mould is prepared to its aim, read, and laid up.

    play: mean and standard uncertainty (m). probability: inside its window, as laid.
    mendable: after the finish the job allows. blame: share of the variance by input, largest
    first. diameter: the part's own, m. varies: range of the part's diameter along the fit.
    wall: radial, mean (m) and standard uncertainty.
    """

    name: str
    kind: str
    leads: bool
    x: float
    window: tuple[float, float]
    play: float
    spread: float
    probability: float
    mendable: float
    diameter: float
    varies: float
    wall: float
    wall_spread: float
    blame: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Forecast:
    """How often the first part fits, by what is read before the resin is mixed.

    unread: printed for the wanted size and laid up; ring: the same after one ring at the fit's
    diameter; gated: the prepared mould is read and corrected; as_filed: laid up unread from
    this print file, which may be large on purpose.
    """

    unread: float
    ring: float
    gated: float
    as_filed: float


@dataclass(frozen=True)
class Fit:
    """All fits, the ladder of the leading one, what to aim at and what it buys."""

    chain: Chain = result("uncertain inputs and links", by=open_chain, uses=("surface", "stack"))
    results: tuple[FitResult, ...] = result("every fit as predicted", by=uncertainty.propagate)
    links: tuple[Link, ...] = result("from the mate to the print file", "mm")
    outcome: aim.Outcome = result("fit and rework over the prepared mould", by=aim.outcome)
    gate: aim.Gate = result("what reading the prepared mould buys", by=aim.aim_print)
    blame: tuple[tuple[str, float], ...] = result(
        "share of the leading fit's variance, by input, before anything is read",
        by=uncertainty.propagate,
    )
    forecast: Forecast = result("how often the first part fits", by=aim.aim_print)
    file_diameter: float = result("leading fit's diameter in the print file", "mm")
    sizes: SizeMap = result("size map from print file to bore", by=SizeMap.bore)
    bore: Curve = result("bore wanted of the released part", "mm")
    ready: Curve = result("prepared mould to aim at, ready to wax", "mm")
    file: Curve = result("curve in the print file", "mm")

    @property
    def lead(self) -> FitResult:
        """The leading fit."""
        return next(item for item in self.results if item.leads)


def close_fits(
    job: Job,
    shape: Shape,
    stack: Stack,
    wall: Wall,
    parts: Constituents,
    mould: Mould,
    surface: Surface,
    library: Library,
) -> Fit:
    """Aim the mould for least rework, map it to the print file, predict every fit.

    The ready-to-wax diameter of least expected rework fixes the bore wanted; the print is
    aimed so that reading and mending the mould costs least.
    """
    chain = open_chain(job, shape, stack, surface, parts, library)
    costs = aim.read_costs(library)
    lead = chain.lead
    nominal = _size_map(job, shape, stack, wall, surface, chain, library, 0.0)
    at_wanted = nominal.ready_of_bore(stack.mould)
    ready = 2.0 * float(at_wanted.r[lead.node])
    caliper, drawn = job.shop.caliper.value, chain.parts(DRAWS, SEED)
    out = outcome_at(chain, ready, caliper, costs, drawn)
    gate = aim.aim_print(_ready_doubt(chain), out, costs, caliper)
    sizes = _size_map(job, shape, stack, wall, surface, chain, library, gate.aim - out.best)
    wanted = Curve(at_wanted.x, at_wanted.r + 0.5 * (out.best - ready))
    bore = sizes._released(sizes._held(wanted))
    file = sizes.file_of_ready(wanted)
    results = tuple(
        _result(chain, station, 2.0 * float(wanted.r[station.node]), caliper, drawn, stack)
        for station in chain.stations
    )
    in_file = 2.0 * float(file.r[lead.node])
    unread = _propagated(chain, lead, in_file)
    return Fit(
        chain,
        results,
        _links(chain, lead, out, gate, in_file, unread),
        out,
        gate,
        _blame(chain, unread),
        _forecast(job, chain, out, gate, library),
        in_file,
        sizes,
        bore,
        wanted,
        file,
    )


def _size_map(
    job: Job,
    shape: Shape,
    stack: Stack,
    wall: Wall,
    surface: Surface,
    chain: Chain,
    library: Library,
    allowance: float,
) -> SizeMap:
    """Mean size changes of the chain at every place."""
    mean = chain.values(chain.mean[:, None])
    warm = float(mean["set temperature"][0]) - chain.reference
    shrink_up = job.printer.shrink.up if job.printer.shrink else None
    if shrink_up is None:
        up = library.plastics[job.mould.plastic]["shrink_up"].value
    else:
        up = shrink_up.value
    return SizeMap(
        meridian=stack.meridian,
        base=shape.base,
        shrink_across=float(mean["shrink"][0]),
        shrink_up=up,
        offset=float(mean["offset"][0] + mean["scatter"][0]),
        treatments=sum(float(mean[name][0]) for name in chain.treatments),
        allowance=allowance,
        heat=float(mean["mould expansion"][0]) * warm,
        films=sum(float(mean[name][0]) for name in chain.films),
        strain=_released_strain(wall, warm, float(mean["share kept"][0])),
        wall=stack.wall,
    )


def _released_strain(wall: Wall, warm: float, kept: float) -> Array:
    """Free strain of the part from setting to the reference temperature, (place, 3).

    Where the wall is no laminate the nearest sound place is taken.
    """
    strain = kept * wall.cure - warm * wall.expansion
    sound = np.isfinite(strain[:, 0])
    if not sound.any():
        return np.zeros_like(strain)
    place = np.arange(len(strain))
    columns = [np.interp(place, place[sound], column[sound]) for column in strain.T]
    return np.array(columns).T


def _ready_doubt(chain: Chain) -> float:
    """Standard uncertainty of the prepared mould's diameter before anybody reads it (m)."""

    def model(rows: Array) -> Array:
        v = chain.values(rows.T)
        return chain.ready(v, chain.printed(v, chain_size(chain)))

    return uncertainty.propagate(model, chain.mean, chain.covariance).spread


def chain_size(chain: Chain) -> float:
    """Diameter of the leading fit's mate: the size at which shrink is weighed (m)."""
    return chain.lead.place.fit.mates.value


def outcome_at(
    chain: Chain, ready: float, doubt: float, costs: aim.Costs, drawn: Parts
) -> aim.Outcome:
    """Fit and rework over the prepared mould's diameter, which is known to ± ``doubt`` (m)."""
    play = chain.play_of_parts(chain.lead, ready, doubt, drawn)
    fit = chain.lead.place
    return aim.outcome(play, ready, SLOPE[fit.fit.kind], fit.window, costs)


def _result(
    chain: Chain, station: Station, ready: float, caliper: float, drawn: Parts, stack: Stack
) -> FitResult:
    """One fit by Monte Carlo, its blame by first-order shares, the mould read as ``ready``."""
    fit = station.place.fit

    def model(rows: Array) -> Array:
        return chain.play(station, chain.values(rows.T), np.full(len(rows), ready))

    def wall(rows: Array) -> Array:
        return chain.wall(station, chain.values(rows.T))

    linear = uncertainty.propagate(model, chain.mean, chain.covariance)
    walls = uncertainty.propagate(wall, chain.mean, chain.covariance)
    play = chain.play_of_parts(station, ready, caliper, drawn)
    least, most = station.place.window
    mean = chain.values(chain.mean[:, None])
    bore = chain.bore(station, mean, np.array([ready]))
    own = bore if fit.kind == "bore" else chain.outside(station, mean, bore)
    return FitResult(
        fit.name,
        fit.kind,
        fit.leads,
        station.x,
        (least, most),
        float(play.mean()),
        float(play.std()),
        float(np.mean((play >= least) & (play <= most))),
        _mendable(station, play),
        float(own[0]),
        _varies(station, stack),
        walls.value,
        walls.spread,
        _blame(chain, linear),
    )


def _blame(chain: Chain, linear: uncertainty.Propagated) -> tuple[tuple[str, float], ...]:
    """Inputs by their share of the variance, largest first; nothings left out."""
    pairs = zip((item.name for item in chain.inputs), linear.shares.tolist(), strict=True)
    return tuple(sorted(((n, s) for n, s in pairs if s > 1e-4), key=lambda pair: -pair[1]))


def _propagated(chain: Chain, station: Station, file: float) -> uncertainty.Propagated:
    """Play from the print file, to first order."""

    def model(rows: Array) -> Array:
        return chain.from_file(station, chain.values(rows.T), file)

    return uncertainty.propagate(model, chain.mean, chain.covariance)


def _mendable(station: Station, play: Array) -> float:
    """Share of parts that fit after the finish the job allows to a flush fit.

    Sanding takes an excess, filling makes up a shortfall, each up to the reach of a hand.
    """
    least, most = station.place.window
    finish = getattr(station.place.fit, "finish", "none")
    most += aim.REACH_OF_HAND if finish == "sand" else 0.0
    least -= aim.REACH_OF_HAND if finish == "fill" else 0.0
    return float(np.mean((play >= least) & (play <= most)))


def _varies(station: Station, stack: Stack) -> float:
    """Range of the fit's own diameter along its length (m)."""
    x = stack.mould.x
    zone = (x >= station.place.start - 1e-9) & (x <= station.place.stop + 1e-9)
    r = (stack.mould.r if station.place.fit.kind == "bore" else stack.outside.r)[zone]
    return float(2.0 * (r.max() - r.min())) if zone.any() else 0.0


def _forecast(
    job: Job, chain: Chain, out: aim.Outcome, gate: aim.Gate, library: Library
) -> Forecast:
    """What a ring at the fit's own diameter, and the gate, would buy, before either is read.

    A reading to come narrows the covariance whatever it will say; the print is then aimed anew.
    """
    size, caliper = chain_size(chain), job.shop.caliper.value
    doubt = float(np.hypot(caliper, print_scatter(job, library, size)))
    ring = on_rings(chain, np.array([size]), _predicted_ring(chain, size), np.array([doubt]))

    def straight(known: Chain) -> float:
        return aim.fits_about(out.best, float(np.hypot(_ready_doubt(known), caliper)), out)

    return Forecast(straight(chain), straight(ring), gate.laid_up_read, gate.laid_up_unread)


def _predicted_ring(chain: Chain, size: float) -> Array:
    """What a ring of this file diameter is expected to read (m)."""
    shrink, offset = chain.mean[chain.index("shrink")], chain.mean[chain.index("offset")]
    return np.array([size * (1.0 - shrink) + offset])


def _links(
    chain: Chain,
    lead: Station,
    out: aim.Outcome,
    gate: aim.Gate,
    file: float,
    unread: uncertainty.Propagated,
) -> tuple[Link, ...]:
    """The ladder from the mate to the print file at the mean inputs; changes add up exactly."""
    mean = chain.values(chain.mean[:, None])
    fit = lead.place.fit
    play = float(chain.play(lead, mean, np.array([out.best]))[0])
    bore = float(chain.bore(lead, mean, np.array([out.best]))[0])
    warm = float(mean["set temperature"][0]) - chain.reference
    coats = [(name, lead.secant * float(mean[name][0])) for name in chain.films]
    heated = out.best * float(mean["mould expansion"][0]) * warm
    doubt = {
        item.name: float(np.sqrt(chain.covariance[i, i])) for i, item in enumerate(chain.inputs)
    }
    spread_of = {
        item.name: abs(float(c)) * doubt[item.name]
        for item, c in zip(chain.inputs, unread.sensitivities, strict=True)
    }
    by = {item.name: item for item in chain.inputs}

    def link(label: str, change: float, *names: str) -> Link:
        spread = float(np.sqrt(sum(spread_of[name] ** 2 for name in names)))
        first = by[names[0]]
        return Link(label, change, spread, first.basis, first.source)

    mate = by[f"mate {fit.name}"]
    rungs = [Link(f"{fit.name}, measured", mate.mean, doubt[mate.name], mate.basis, mate.source)]
    if fit.kind == "bore":
        form = f"form {fit.name}"
        rungs.append(Link("play aimed at", play, 0.0, "derived", "least rework"))
        rungs.append(link("form: oval, lobes, seam", float(mean[form][0]), form))
    else:
        wall = 2.0 * float(chain.wall(lead, mean)[0])
        rungs.append(
            Link("play and form aimed at", bore + wall - mate.mean, 0.0, "derived", "least rework")
        )
        rungs.append(link("wall, both sides", -wall, "fibre fraction", "tow", "braid angle"))
    rungs.append(
        link(
            "cure and cooling of the laminate",
            out.best + heated + sum(c for _, c in coats) - bore,
            "cure shrinkage",
            "share kept",
            "braid angle",
        )
    )
    rungs += [link(name, -coat, name) for name, coat in coats]
    rungs.append(link("mould warm when it sets", -heated, "set temperature", "mould expansion"))
    rungs.append(Link("ready to wax", out.best, 0.0, "total", ""))
    allowance = gate.aim - out.best
    rungs.append(Link("left on for sanding", allowance, 0.0, "derived", "least rework"))
    rungs += [link(name, -lead.secant * float(mean[name][0]), name) for name in chain.treatments]
    rungs.append(link("printer offset", -float(mean["offset"][0]), "offset", "scatter"))
    rungs.append(link("print shrink", file * float(mean["shrink"][0]), "shrink"))
    rungs.append(Link("diameter in the print file", file, 0.0, "total", ""))
    return tuple(rungs)
