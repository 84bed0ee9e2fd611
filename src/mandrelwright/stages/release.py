"""Step 11, Release: whether, when and how hard to pull, through any sequence of warm and cold.

gap     = −δ cos β + sin β (Δx + drift), δ mould minus free bore on radius since it set
margin  = least over the places of gap − what the layer lines ask for there
free    when margin > 0 after a travel Δx that a hand can work
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.findings.release import place
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import conduction, contact, membrane, uncertainty
from mandrelwright.stages.cells import CELLS, cells_at
from mandrelwright.stages.chain import Chain, Input
from mandrelwright.stages.cooling import Follower, Moments, Step, read_steps
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.force import forces, friction_input, grip_at, pressures
from mandrelwright.stages.judge import (
    LINES_LEFT,
    OWN,
    Case,
    Judged,
    judge,
    linear_margin,
    open_case,
    soluble,
)
from mandrelwright.stages.record import result
from mandrelwright.stages.resin import read_resin
from mandrelwright.stages.seat import CHAIN, pick_places
from mandrelwright.stages.sequences import mildest_first, untouched
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.surface import Surface
from mandrelwright.stages.wall import FREE, STIFFNESS, Constituents

Array = NDArray[np.float64]

PLACES, LEAST_PLACES = 24, 3
DRAWS, FEW, SEED = 10_000, 2_000, 4
ENOUGH = 0.9  # odds with which the mildest sequence is content
OPEN = 0.03  # odds nearer to nil or one need no measurement
MEASURABLE = ("braid angle", "mould expansion", "cure shrinkage", "lines left", "fibre fraction")
KEPT_FROM = 10.0  # K that a tried sequence stays below what gives way
NOISE = 0.01  # what so few draws err by
ROUGH = 0.2  # odds to first order so far behind the best need no draws
SAME = 0.02  # odds that tell no moment from another
LIKELY = 3.0  # standard uncertainties of an input, beyond which no threshold is told
STRAIGHT = 0.02  # sin β below which a place gains nothing by travel

PLASTIC, RELEASES = "materials.plastics.{plastic}.", "materials.releases.{release}."
BODY = (
    *("stack.mould", "stack.thickness", "stack.layers", "stack.fibre_fraction", "stack.jammed"),
    *("job.mould.core", "job.mould.pull_rod", "job.printer.line", "job.mould.leaves"),
)
FOLLOWED = (
    *(*BODY, *CELLS),
    *("job.release_steps[*]", "job.shop.temperature", "materials.practice.surroundings.*"),
    *("materials.resins.{resin}.conductivity", "materials.resins.{resin}.specific_heat"),
)
SEATED = (
    *FOLLOWED,
    *(f"input.{name}" for name in CHAIN),
    *STIFFNESS,
    *FREE,
    *("materials.fibres.{fibre}.*", "materials.resins.{resin}.*", f"{PLASTIC}modulus"),
    *(f"{PLASTIC}poisson", "materials.practice.printed plastic.modulus_in_layers"),
    *(f"{PLASTIC}glass_transition", "materials.practice.release.travel"),
)
LINES = (
    *("surface.roughness", "surface.steps.*", "job.printer.layer", "mould.slope"),
    *("materials.practice.roughness.peak_to_mean", "input.lines left"),
)
TRIED = (
    *("cure.glass", f"{PLASTIC}deflection_low"),
    *(f"{RELEASES}highest_temperature", f"{RELEASES}dissolved_by"),
)
JUDGED = (*SEATED, *LINES, *TRIED, *(f"input.{name}" for name in OWN))
PUSHED = (*JUDGED, "input.friction", f"{RELEASES}friction", f"{RELEASES}sticking")
GAP = (contact.mismatch, contact.along_axis, contact.cone_gap)


@dataclass(frozen=True)
class Place:
    """One place: gap before any step and at the moment to pull, grip negative; pressures."""

    label: str
    x: float = result("from the tip of the full profile", "mm", (), BODY)
    before: float = result("gap before any step", "um", GAP, SEATED)
    then: float = result("gap at the moment to pull", "um", GAP, JUDGED)
    asked: float = result("gap that layer lines ask for", "um", contact.key_left, LINES)
    sliding: float = result(
        "pressure before any step if it may slide", "kPa", contact.sliding_pressure, SEATED
    )
    stuck: float = result("the same if it may not", "kPa", contact.stuck, SEATED)
    slides: bool = result(
        "the slope lets itself off against friction", "", contact.lets_itself_off, PUSHED
    )


@dataclass(frozen=True)
class Deciding:
    """The measurement that decides: what, where (m from the tip), and the values that part it.

    grips: value on whose far side it grips, frees: on whose far side it is free (SI).
    """

    name: str
    x: float = result("where to measure it", "mm")
    now: float = result("as it stands")
    grips: float = result("beyond it the part grips")
    frees: float = result("beyond it the part is free")
    spacing: float = result("ten crossings along the part at the middle value", "mm")


@dataclass(frozen=True)
class Release:
    """Whether, when and how hard to pull. Places have the leading end first; SI, s, K, N."""

    inputs: tuple[Input, ...]
    x: Array
    gap: Array  # (moment, place)
    asked: Array
    straight: NDArray[np.bool_]
    steps: tuple[Step, ...]
    stated: bool
    shop: float
    moments: Moments
    best: int
    places: tuple[Place, ...] = result("places, the leading end first", "", (), JUDGED)
    travel: float = result(
        "travel that a hand works", "mm", (), ("materials.practice.release.travel",)
    )
    air: float = result(
        "force of one atmosphere on the largest bore", "N", contact.vacuum_force, BODY
    )
    band: tuple[float, float] = result(
        "moments that are as good as the best", "s", conduction.modal, JUDGED
    )
    resolved: bool = result("the moment matters more than it is known", "", (), JUDGED)
    margin: float = result("least gap to spare at the best moment", "um", GAP, JUDGED, "doubt")
    doubt: float = result("its standard uncertainty", "um", uncertainty.monte_carlo, JUDGED)
    odds: float = result("share of parts that come free", "%", uncertainty.monte_carlo, JUDGED)
    odds_as_it_stands: float = result("the same without any step", "%", (), JUDGED)
    blame: tuple[tuple[str, float], ...] = result(
        "share of the variance of the margin, by input", "%", uncertainty.propagate, JUDGED
    )
    tightest: float = result("place that is last to come free", "mm", GAP, JUDGED)
    lets_go: float = result(
        "share of places where the film lets go by itself at the best moment",
        "%",
        contact.edge_shear,
        (*SEATED, f"{RELEASES}sticking"),
    )
    push: float = result("force that pushes it off then", "N", membrane.grip, PUSHED, "push_doubt")
    push_doubt: float = result("its standard uncertainty", "N", (), PUSHED)
    pull: float = result("force that pulls it off by its leading end", "N", membrane.grip, PUSHED)
    push_now: float = result("force that pushes it off before any step", "N", membrane.grip, PUSHED)
    film: float = result("force that lets the film go, weak", "N", contact.sticking_force, PUSHED)
    vacuum: float = result(
        "most that air behind a closed tip can hold", "N", contact.vacuum_force, BODY
    )
    glass: float = result(
        "glass transition of the laminate",
        "degC",
        (),
        ("cure.glass",),
    )
    glass_margin: float = result(
        "least of T_g minus the wall's temperature", "K", (), (*JUDGED, "cure.glass")
    )
    soft_margin: float = result(
        "least of the mould's softening minus its temperature",
        "K",
        (),
        (*JUDGED, f"{PLASTIC}deflection_low"),
    )
    deciding: Deciding | None = result(
        "the measurement that decides", "", uncertainty.propagate, (*JUDGED, "release.blame")
    )


def can_be_judged(stack: Stack) -> bool:
    """Whether a sound wall lies at three places at least."""
    return len(pick_places(stack, PLACES)) >= LEAST_PLACES


def plan_release(
    job: Job,
    stack: Stack,
    parts: Constituents,
    surface: Surface,
    cure: Cure,
    chain: Chain,
    library: Library,
    places: int = PLACES,
) -> Release:
    """Follow the steps of the job, or the mildest that frees the part, and judge the moments.

    Sequences are tried mildest first; the first with nine parts in ten free is taken, else the
    best. None is tried that warms the part or mould to within 10 K of giving way.
    """
    nodes = pick_places(stack, places)
    case = open_case(job, stack, parts, surface, chain, library, nodes)
    cells = cells_at(job, stack, case.seats.nodes, 0, read_resin(job, library), library)
    infill = job.mould.core.infill
    follower = Follower(cells, infill is not None and infill.value > 0.0, library)
    shop = job.shop.temperature.value
    fresh = follower.follow(case.start, untouched(shop))
    held = int(np.argmax(grip_at(case, fresh, 0)[0] / case.seats.r))
    case = replace(case, seats=replace(case.seats, held=held))
    stated = read_steps(job.release_steps, shop)
    softens = library.plastics[job.mould.plastic]["deflection_low"].value
    most = min(cure.glass, softens, _bears(job, library)) - KEPT_FROM
    tried = [stated] if stated else mildest_first(shop, most, soluble(job, library))
    found = _mildest(case, follower, tried)
    as_it_stands = judge(case, follower, untouched(shop))
    return _told(job, case, found, as_it_stands, bool(stated), stack, cure, library)


def _mildest(case: Case, follower: Follower, tried: list[tuple[Step, ...]]) -> Judged:
    """The first sequence that frees nine parts in ten, else the one that frees most.

    Odds of a sequence are those of a few draws at the moment that is best to first order.
    """
    rows = _draws(case)[:FEW]
    walls, best, most = case.seats.wall(rows), None, -1.0
    for steps in tried:
        found = judge(case, follower, steps)
        if found.odds < most - ROUGH:
            continue
        margin = case.margins(rows, walls, found.now, found.faster, found.best).min(axis=-1)
        odds = float(np.mean(margin > 0.0))
        if best is None or odds > most + SAME:
            best, most = found, odds
        if odds >= ENOUGH + NOISE:
            break
    assert best is not None
    return best


def _draws(case: Case) -> Array:
    """Parts drawn over the inputs, (draw, input)."""
    rows = np.random.default_rng(SEED).standard_normal((DRAWS, len(case.mean)))
    return np.asarray(case.mean + rows @ _root(case.covariance))


def _bears(job: Job, library: Library) -> float:
    """What the release system bears (K)."""
    system = library.releases[job.release.system]
    return system["highest_temperature"].value if "highest_temperature" in system else np.inf


def _told(
    job: Job,
    case: Case,
    found: Judged,
    untouched: Judged,
    stated: bool,
    stack: Stack,
    cure: Cure,
    library: Library,
) -> Release:
    """The record of the sequence that was taken."""
    seats, now, best = case.seats, found.now, found.best
    drawn, same = _draws(case), case.mean[None]
    walls = seats.wall(drawn)
    least, bare = (
        case.margins(drawn, walls, one.now, one.faster, one.best).min(axis=-1)
        for one in (found, untouched)
    )
    each = case.gap(same, seats.wall(same), now, found.faster, slice(None))[:, 0]
    asked = case.asked * case.mean[LINES_LEFT]
    tightest = int(np.argmin(each[best] - asked))
    as_good = np.flatnonzero(found.each > found.odds - SAME)
    last = as_good[np.searchsorted(as_good, best) :]
    run = last[: 1 + int(np.argmin(np.append(np.diff(last) == 1, False)))]
    late = np.flatnonzero(now.step == now.step[-1])
    resolved = bool(np.setdiff1d(late[1:], run).size > 0)
    sliding, stuck, _ = pressures(case, untouched.now, 0)
    _, _, force = pressures(case, now, best)
    sticking = library.releases[job.release.system]["sticking"].value
    friction = friction_input(job, library)
    x = np.abs(seats.x)
    slides = contact.lets_itself_off(seats.sine, seats.cosine, friction.mean)
    pushes = forces(case, now, best, friction)
    soft = library.plastics[job.mould.plastic]["deflection_low"].value
    linear = linear_margin(case, found)
    shares = zip((item.name for item in case.inputs), linear.shares.tolist(), strict=True)
    holds = contact.edge_shear(force, seats.r) <= sticking
    if soluble(job, library):
        holds &= case.reached(same, now.wet[best])[0] < 0.5
    return Release(
        inputs=(*case.inputs[len(CHAIN) :], friction),
        x=x,
        gap=each,
        asked=asked,
        straight=np.abs(seats.sine) < STRAIGHT,
        places=_places(job, slides, x, each[0], each[best], asked, sliding, stuck),
        steps=found.steps,
        stated=stated,
        shop=case.start,
        moments=now,
        best=best,
        travel=case.travel,
        air=float(contact.vacuum_force(seats.r.max())),
        band=(float(now.times[run[0]]), float(now.times[run[-1]])),
        resolved=resolved,
        margin=float(least.mean()),
        doubt=float(least.std()),
        odds=float(np.mean(least > 0.0)),
        odds_as_it_stands=float(np.mean(bare > 0.0)),
        blame=tuple(sorted(((n, s) for n, s in shares if s > 1e-4), key=lambda pair: -pair[1])),
        tightest=float(np.abs(seats.x[tightest])),
        lets_go=float(1.0 - holds.mean()),
        push=pushes[0],
        push_doubt=pushes[1],
        pull=pushes[2],
        push_now=forces(case, untouched.now, 0, friction)[0],
        film=float(contact.sticking_force(sticking, seats.r[holds].max(initial=0.0))),
        vacuum=float(contact.vacuum_force(seats.r.max())) if _closed(job) else 0.0,
        glass=cure.glass,
        glass_margin=float(cure.glass - now.wall.max()),
        soft_margin=float(soft - now.hottest.max()),
        deciding=_deciding(case, linear, found.odds, tightest, stack),
    )  # fmt: skip


def _places(job: Job, slides: NDArray[np.bool_], *columns: Array) -> tuple[Place, ...]:
    """One record for each place, named by its distance from the base."""
    names = ("x", "before", "then", "asked", "sliding", "stuck")
    rows = zip(np.column_stack(columns).tolist(), slides.tolist(), strict=True)
    return tuple(
        Place(
            place(row[0], job.part_length),
            slides=off,
            **dict(zip(names, row, strict=True)),
        )
        for row, off in rows
    )


def _closed(job: Job) -> bool:
    """Whether air cannot follow the part: a pointed or blunt tip, no vent, no pull rod."""
    tip = getattr(job.sections[0], "tip", None)
    opened = tip is None or getattr(tip, "open", None) is not None
    return not (opened or job.mould.vent or job.mould.pull_rod)


def _root(covariance: Array) -> Array:
    """A square root of a covariance, of any rank."""
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(np.transpose(vectors * np.sqrt(np.maximum(values, 0.0))), float)


def _deciding(
    case: Case, linear: uncertainty.Propagated, odds: float, tightest: int, stack: Stack
) -> Deciding | None:
    """The measurable input that most parts grip from free, when the odds are neither way.

    Threshold: value at which the margin is one standard uncertainty of all other inputs from nil.
    None where a threshold lies farther out than the input is likely to: that is no measurement.
    """
    shares = {item.name: i for i, item in enumerate(case.inputs) if item.name in MEASURABLE}
    i = max(shares.values(), key=lambda number: linear.shares[number])
    slope, value = float(linear.sensitivities[i]), float(case.mean[i])
    if not OPEN < odds < 1.0 - OPEN or slope == 0.0:
        return None
    others = linear.spread * np.sqrt(max(1.0 - float(linear.shares[i]), 0.0))
    grips, frees = (float(value + (side * others - linear.value) / slope) for side in (-1.0, 1.0))
    if max(abs(grips - value), abs(frees - value)) > LIKELY * np.sqrt(case.covariance[i, i]):
        return None
    spacing = 0.0
    if case.inputs[i].name == "braid angle":
        node = case.seats.nodes[tightest]
        value, grips, frees = (float(stack.angle[-1, node]) + v for v in (value, grips, frees))
        if tows := getattr(stack.layers[-1].textile, "tows", 0):
            around = 4.0 * np.pi * float(stack.r[-1, node]) / tows
            spacing = 10.0 * around / np.tan(0.5 * (grips + frees))
    x = float(np.abs(case.seats.x[tightest]))
    return Deciding(case.inputs[i].name, x, value, grips, frees, spacing)
