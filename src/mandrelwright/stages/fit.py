"""Step 8, Fit: the dimension chain of every fit, the aim, the size map, how likely it fits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.corrections import Corrections
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import uncertainty
from mandrelwright.physics.curves import Curve
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain, Parts, Station
from mandrelwright.stages.chain_inputs import open_chain
from mandrelwright.stages.corrected import with_corrections
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.forecast import READY, Forecast, forecast, ready_doubt
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.sizes import WARM, SizeMap, map_sizes
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
    change: float = result("what it adds to the diameter", "mm", spread="spread")
    spread: float = result("its share of the doubt", "mm", by=uncertainty.propagate)
    basis: str = result("how it is known")
    source: str = result("who says so")
    uses: tuple[str, ...] = ()


WALL = ("input.fibre fraction", "input.tow", "input.braid angle", "stack.mould", "stack.layers")
FREED = ("input.{film}", "input.mould expansion", *WARM, "input.share kept", "wall.cure")
RELEASED = (*FREED, "input.cure shrinkage", "input.springback", "wall.expansion", *WALL)
FITTED = (
    *RELEASED, "input.mate {name}", "input.form {gap}", "input.{coat}", "job.shop.caliper"
)  # fmt: skip
FILE = ("fit.file_diameter",)
REWORK = "materials.practice.rework."
PLAY = ("fit.results.{name}.play", "fit.results.{name}.window")
DRAWN = (Chain.play, Chain.bore, Chain.wall, Chain.play_of_parts)


@dataclass(frozen=True)
class FitResult:
    """One fit as predicted when the mould is prepared to its aim, read, and laid up.

    coats, blame (share of the variance, largest first): by input.
    """

    name: str
    kind: str
    leads: bool
    x: float = result("deciding place, x from the tip", "mm", (), ("shape.fits", "stack.r"))
    window: tuple[float, float] = result("least and most play", "mm", (), ("job.fit[{row}]",))
    play: float = result(
        "play: on diameter, or step per side of a flush fit", "mm", spread="spread"
    )
    spread: float = result("standard uncertainty of play", "mm")
    coats: tuple[tuple[str, float], ...] = result(
        "coats that lie on it, on the radius", "mm", Chain.coated
    )
    probability: float = result(
        "share of parts inside the window, as laid and coated", "%", uses=PLAY
    )
    mendable: float = result(
        "share inside after the finish the job allows", "%", uses=(*PLAY, "job.fit[{row}]")
    )
    diameter: float = result(
        "the part's own diameter", "mm", (Chain.outside, Chain.bore), ("fit.ready", *RELEASED)
    )
    varies: float = result("range of that diameter along the fit", "mm", (), ("stack.r",))
    wall: float = result("wall, radial", "mm", Chain.wall, WALL, "wall_spread")
    wall_spread: float = result("its standard uncertainty", "mm", uncertainty.propagate, WALL)
    blame: tuple[tuple[str, float], ...] = result(
        "share of the variance of play, by input", "%", uncertainty.propagate
    )


@dataclass(frozen=True)
class Fit:
    """All fits, the ladder of the leading one, what to aim at and what it buys."""

    chain: Chain = result("uncertain inputs, each once", "", (), ("input.*",))
    results: tuple[FitResult, ...] = result(
        "every fit as predicted", "", DRAWN, ("fit.ready", "job.fit[*]", *FITTED)
    )
    links: tuple[Link, ...] = result("from the mate to the print file", "", ())
    outcome: aim.Outcome = result(
        "fit and rework over the prepared mould",
        "",
        (aim.outcome, *DRAWN),
        (*FITTED, "job.fit[{lead}]", *(f"{REWORK}{key}" for key in ("hone", "shim", "scrap"))),
    )
    gate: aim.Gate = result(
        "what reading the prepared mould buys",
        "",
        (aim.aim_print, aim.fits_about),
        (
            *("fit.outcome", *READY, "job.fit[{lead}].mates", "job.shop.caliper"),
            *(f"{REWORK}*", "materials.releases.polyester film wrap.film"),
        ),
    )
    blame: tuple[tuple[str, float], ...] = result(
        "share of the leading fit's variance, by input, before anything is read",
        "%",
        uncertainty.propagate,
        (*FITTED, *READY, "fit.file_diameter"),
    )
    forecast: Forecast = result("how often the first part fits", "", aim.fits_about)
    file_diameter: float = result(
        "leading fit's diameter in the print file", "mm", SizeMap.file_of_ready, ("fit.file",)
    )
    sizes: SizeMap = result("size map from print file to bore", "", SizeMap.bore)
    bore: Curve = result(
        "bore wanted of the released part", "mm", SizeMap.bore, ("fit.ready", "fit.sizes")
    )
    ready: Curve = result(
        "prepared mould to aim at, ready to wax",
        "mm",
        (SizeMap.ready_of_bore, aim.outcome),
        ("fit.outcome.best", "stack.mould", "fit.sizes"),
    )
    file: Curve = result(
        "curve in the print file", "mm", SizeMap.file_of_ready, ("fit.ready", "fit.sizes")
    )

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
    cure: Cure,
    library: Library,
    corrections: Corrections | None = None,
) -> Fit:
    """Aim the mould for least rework, map it to the print file, predict every fit.

    The ready-to-wax diameter of least expected rework fixes the bore wanted; the print is
    aimed so that reading and mending the mould costs least.
    """
    chain = open_chain(job, shape, stack, surface, cure, parts, library)
    chain = with_corrections(chain, corrections)
    costs = aim.read_costs(library)
    lead = chain.lead
    nominal = map_sizes(shape, stack, wall, chain, 0.0)
    at_wanted = nominal.ready_of_bore(stack.mould)
    ready = 2.0 * float(at_wanted.r[lead.node])
    caliper, drawn = job.shop.caliper.value, chain.parts(DRAWS, SEED)
    out = outcome_at(chain, ready, caliper, costs, drawn)
    gate = aim.aim_print(ready_doubt(chain), out, costs, caliper)
    sizes = map_sizes(shape, stack, wall, chain, gate.aim - out.best)
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
        forecast(job, chain, out, gate, library),
        in_file,
        sizes,
        bore,
        wanted,
        file,
    )


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
    mean = chain.values(chain.mean[:, None])
    least, most = station.place.window
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
        tuple((name, station.secant * float(mean[name][0])) for name in station.coats),
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
    without = {**mean, "springback": np.zeros(1)}
    still = float(chain.bore(lead, without, np.array([out.best]))[0])
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

    def link(label: str, change: float, *names: str, also: tuple[str, ...] = ()) -> Link:
        spread = float(np.sqrt(sum(spread_of[name] ** 2 for name in names)))
        first, uses = by[names[0]], (*(f"input.{name}" for name in names), *also, "fit.blame")
        return Link(label, change, spread, first.basis, first.source, uses)

    def decided(label: str, change: float, *uses: str) -> Link:
        return Link(label, change, 0.0, "derived", "least rework", uses)

    def total(label: str, size: float, *uses: str) -> Link:
        return Link(label, size, 0.0, "total", "", uses)

    mate = by[f"mate {fit.name}"]
    measured = doubt[mate.name], mate.basis, mate.source, (f"input.{mate.name}",)
    rungs = [Link(f"{fit.name}, measured", mate.mean, *measured)]
    if fit.kind == "bore":
        form = f"form {fit.name}"
        rungs.append(decided("play aimed at", play, "fit.outcome.best", *FITTED))
        rungs.append(link("form: oval, lobes, seam", float(mean[form][0]), form))
    else:
        wall = 2.0 * float(chain.wall(lead, mean)[0])
        laid = [(name, 2.0 * lead.secant * float(mean[name][0])) for name in lead.coats]
        gap = bore + wall - mate.mean + sum(coat for _, coat in laid)
        rungs.append(decided("play and form aimed at", gap, "fit.outcome.best", *FITTED))
        rungs += [link(name, -coat, name) for name, coat in laid]
        rungs.append(
            link("wall, both sides", -wall, "fibre fraction", "tow", "braid angle", also=WALL)
        )
    rungs.append(
        link(
            "cure and cooling of the laminate",
            out.best + heated + sum(c for _, c in coats) - still,
            "cure shrinkage",
            "share kept",
            "braid angle",
            also=("fit.outcome.best", *RELEASED),
        )
    )
    rungs.append(
        link("springback", still - bore, "springback", also=("fit.outcome.best", *RELEASED))
    )
    rungs += [link(name, -coat, name) for name, coat in coats]
    heat = "set temperature", "mould expansion"
    rungs.append(link("mould warm when it sets", -heated, *heat, also=("fit.outcome.best", *WARM)))
    rungs.append(total("ready to wax", out.best, "fit.outcome.best"))
    rungs.append(decided("left on for sanding", gate.aim - out.best, "fit.sizes.allowance"))
    rungs += [link(name, -lead.secant * float(mean[name][0]), name) for name in chain.treatments]
    rungs.append(link("printer offset", -float(mean["offset"][0]), "offset", "scatter"))
    rungs.append(link("print shrink", file * float(mean["shrink"][0]), "shrink", also=FILE))
    rungs.append(total("diameter in the print file", file, *FILE))
    return tuple(rungs)
