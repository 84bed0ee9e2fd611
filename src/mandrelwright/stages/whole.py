"""The whole part as one shell of revolution: where a ply fails with its bending, what buckles it.

What this finds below the local formulas of step 13 decides: ``least_of``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.sections import Bore
from mandrelwright.physics import local_buckling, shell, strength
from mandrelwright.physics.strength import MODES
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.shell_buckling import Buckled, buckle
from mandrelwright.stages.shell_model import Mesh, make_model, sound_span
from mandrelwright.stages.shell_stress import Cracked, crack
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.strength import BUCKLES, CRITERIA, DOUBTS, FAILS, Failure, Strength
from mandrelwright.stages.wall import Constituents
from mandrelwright.stages.warm_wall import owners, strength_spreads

Array = NDArray[np.float64]

FINE, COARSE = Mesh(4.0, True), Mesh(2.0, False)  # for stress, for buckling
SHORTEST = 10e-3  # m between couplers, below which no span is left to bend
FACES = ("inner", "outer")
BY_SHELL = "the shell of revolution"
HELD = (*FAILS, "shape.fits")
BENT = (shell.solve, shell.at_depth, *CRITERIA)
ROUND_IT = (shell.buckle, local_buckling.cylinder_share)


@dataclass(frozen=True)
class AsShell:
    """One case: where its first ply fails with the wall's bending, and what buckles the whole."""

    id: str
    name: str
    cracks: float = result(
        "load factor at which a ply first fails", "", BENT, (*HELD, *DOUBTS), "spread"
    )
    spread: float = result("its standard uncertainty", "", (), (*HELD, *DOUBTS))
    heat: float = result("of it by glass transition and warmth", "", (), (*HELD, *DOUBTS))
    cracks_x: float = result("where, x from the tip", "mm", BENT, HELD)
    layer: str = result("the layer that fails", "", (), HELD)
    face: str = result("on which side of the ply", "", (), HELD)
    mode: str = result("how it fails", "", strength.first_failure, HELD)
    kept: float = result("share of the resin's strength kept there", "%", strength.resin_kept, HELD)
    perfect: float = result("buckling load factor of the perfect shell", "", shell.buckle, BUCKLES)
    buckles: float = result(
        "the same times what real shells bear", "", ROUND_IT, DOUBTS, "buckles_spread"
    )
    buckles_spread: float = result("its standard uncertainty", "", (), DOUBTS)
    buckles_heat: float = result("of it by glass transition and warmth", "", (), DOUBTS)
    waves: int = result("waves round", "", shell.buckle, BUCKLES)
    buckles_x: float = result("where it moves most, x from the tip", "mm", shell.buckle, BUCKLES)


@dataclass(frozen=True)
class Whole:
    """Every case that loads the part, judged as one shell from tip to base."""

    elements: int = result("elements along the meridian, for buckling", "", (), BUCKLES)
    ends: tuple[float, float] = result(
        "where the wall is plugged and clamped for its stress, x from the tip", "mm", (), HELD
    )
    x: Array = result("stations, x from the tip", "mm", (), ("flight.x",))
    cracks: Array = result("load factor of the first ply along the part", "", BENT, HELD)
    cases: tuple[AsShell, ...] = result("as one shell, case by case", "", (), (*HELD, *DOUBTS))


def judge_whole(
    shape: Shape,
    stack: Stack,
    parts: Constituents,
    cure: Cure,
    flight: Flight | None,
    local: Strength | None,
    library: Library,
) -> Whole | None:
    """Ply stresses and linear buckling of the part as laid, as a shell of revolution.

    Stress: N(x) and pressure without waves, V(x) and M with one; the base is clamped, the tip
    plugged (round and square, free to move as a whole), each where a coupler inside ends, if there
    is one; over it the wall is left to the local formulas. Buckling, 0 to 12 waves:
    F(x) = N − 2|M|/r, the worst meridian of bending all the way round, both ends kept round and
    free to warp; the share that real shells bear where the mode moves most. Spread: strength of
    the failing mode, and what fibre fraction, angle, cure and heat make of the local factor of the
    same case.
    """
    span = sound_span(stack, flight) if flight is not None else None
    if flight is None or local is None or span is None:
        return None
    loaded = {one.id for one in local.failures}
    every = [case for case in flight.cases if case.id in loaded]
    cases, seats = _distinct(every)
    ends = _between_couplers(shape, span)
    model = make_model(stack, parts, flight, cases, ends, FINE, library)
    cracked = crack(model, cases, cure, library)
    buckled, elements = _buckled(stack, parts, flight, cases, span, library)
    told = _Told(stack, library, cracked, buckled)
    made = [
        told.case(case, seat, failure)
        for case, seat, failure in zip(every, seats, local.failures, strict=True)
    ]
    return Whole(elements, ends, flight.x, _along(flight.x, cracked), tuple(made))


def as_shell(
    shape: Shape,
    stack: Stack,
    parts: Constituents,
    cure: Cure,
    flight: Flight | None,
    local: Strength | None,
    library: Library,
) -> tuple[Strength | None, Whole | None]:
    """The strength with what the shell finds below the local formulas, and the shell's own."""
    whole = judge_whole(shape, stack, parts, cure, flight, local, library)
    return (local if local is None or whole is None else least_of(local, whole)), whole


def least_of(local: Strength, whole: Whole) -> Strength:
    """Of local formulas and the shell, whatever leaves less, case by case and place by place.

    Along the part no place bears more than what buckles the whole.
    """
    failures = tuple(map(_lesser, local.failures, whole.cases))
    shut = min(one.buckles for one in whole.cases)
    proof = local.proof_factor
    for before, after in zip(local.failures, failures, strict=True):
        if before.id == "handling":
            proof *= after.factor / before.factor if before.factor > 0.0 else 0.0
    bears = np.where(np.isnan(local.cracks), np.nan, np.fmin(local.cracks, whole.cracks))
    stands = np.where(np.isnan(local.buckles), np.nan, np.minimum(local.buckles, shut))
    return replace(local, cracks=bears, buckles=stands, failures=failures, proof_factor=proof)


def _lesser(local: Failure, whole: AsShell) -> Failure:
    made = local
    if whole.cracks - whole.spread < local.cracks - local.spread:
        made = replace(
            made, cracks=whole.cracks, spread=whole.spread, heat=whole.heat, layer=whole.layer,
            cracks_x=whole.cracks_x, mode=whole.mode, kept=whole.kept, cracks_by=BY_SHELL,
        )  # fmt: skip
    if whole.buckles - whole.buckles_spread < local.buckles - local.buckles_spread:
        made = replace(
            made, buckles=whole.buckles, buckles_spread=whole.buckles_spread,
            buckles_heat=whole.buckles_heat, buckles_x=whole.buckles_x, buckles_by=BY_SHELL,
        )  # fmt: skip
    return replace(made, alone=local.reserve)


def _distinct(cases: list[Case]) -> tuple[list[Case], list[int]]:
    """Cases that differ, and which of them each case is: peaks may share a moment."""
    made: list[Case] = []
    seats = []
    for case in cases:
        seat = next((n for n, other in enumerate(made) if _same(case, other)), len(made))
        if seat == len(made):
            made.append(case)
        seats.append(seat)
    return made, seats


def _same(one: Case, other: Case) -> bool:
    keys = ("axial", "shear", "moment", "pressure", "mean")
    return all(np.array_equal(getattr(one, key), getattr(other, key)) for key in keys)


def _between_couplers(shape: Shape, span: tuple[float, float]) -> tuple[float, float]:
    """The sound wall between couplers that sit inside its ends; all of it where they meet."""
    bores = [place for place in shape.fits if isinstance(place.fit, Bore)]
    start = max([p.stop for p in bores if p.start <= span[0] + 1e-3], default=span[0])
    stop = min([p.start for p in bores if p.stop >= span[1] - 1e-3], default=span[1])
    return span if stop - start < SHORTEST else (max(start, span[0]), stop)


def _buckled(
    stack: Stack,
    parts: Constituents,
    flight: Flight,
    cases: list[Case],
    span: tuple[float, float],
    library: Library,
) -> tuple[list[Buckled | None], int]:
    """What buckles each case, None where nothing presses; how many elements there are."""
    pressing = [case for case in cases if _presses(case)]
    if not pressing:
        return [None] * len(cases), 0
    model = make_model(stack, parts, flight, pressing, span, COARSE, library)
    found = iter(buckle(model, pressing))
    return [next(found) if _presses(case) else None for case in cases], model.shell.elements


def _presses(case: Case) -> bool:
    """Whether anything in a case presses the wall."""
    return bool(
        np.any(case.axial < -1e-6) or np.any(case.moment != 0.0) or np.any(case.pressure > 1e-3)
    )


def _along(x: Array, cracked: Cracked) -> Array:
    """Least factor of all cases at the stations, each place told at the station next to it."""
    least = np.full(len(x), np.inf)
    nearest = np.abs(cracked.x[:, None] - x).argmin(axis=1)
    np.minimum.at(least, nearest, cracked.factor.min(axis=0))
    return least


@dataclass(frozen=True)
class _Told:
    """Turns numbers of the shell into the record of a case."""

    stack: Stack
    library: Library
    cracked: Cracked
    buckled: list[Buckled | None]

    def case(self, case: Case, seat: int, local: Failure) -> AsShell:
        """One case, with its spread."""
        made, bent = self.cracked, self.buckled[seat]
        at = int(made.factor[seat].argmin())
        pair, mode, face = (int(item[seat, at]) for item in (made.pair, made.mode, made.face))
        strong, owned = strength_spreads(self.stack, self.library), owners(self.stack)
        labels = [self.stack.layers[n].label for n in owned]
        was = strong[labels.index(local.layer)][MODES.index(local.mode)]
        cracks = max(local.cracks, 1e-9)  # nought where cure alone has cracked it
        doubt = math.sqrt(max((local.spread / cracks) ** 2 - was**2, 0.0))
        factor = float(made.factor[seat, at])
        spread = factor * min(math.hypot(strong[pair][mode], doubt), 1.0)
        kept, x = float(made.kept[seat, at]), float(made.x[at])
        if bent is None:
            bent = Buckled(math.inf, math.inf, 0, x)
        known = math.isfinite(bent.factor) and math.isfinite(local.buckles)
        share = bent.factor / local.buckles if known else 0.0
        heat = factor * local.heat / cracks
        return AsShell(
            case.id, case.name, factor, spread, heat, x, labels[pair], FACES[face], MODES[mode],
            kept, bent.perfect, bent.factor, share * local.buckles_spread,
            share * local.buckles_heat, bent.waves, bent.x,
        )  # fmt: skip
