"""Step 13, Strength: for every case, the load at which the wall first fails, where and how."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import laminate, local_buckling, strength
from mandrelwright.physics.strength import MODES
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import STIFFNESS, Constituents
from mandrelwright.stages.warm_wall import (
    PLY,
    Walls,
    owners,
    resin_left,
    strength_spreads,
    warm_strengths,
    warm_walls,
)

Array = NDArray[np.float64]

SIDES = np.array([1.0, -1.0, 0.0])  # pulled side, pressed side, and between them, of bending
EVERY, MANY = 3, 32  # stations apart at which buckling is worked out, where there are many
TINY = 1e-9
PROOF = 1.2  # times the flight's bending; common practice of proof loads, 1.1 to 1.5

LOADED = ("flight.cases", "flight.x", "stack.r", "stack.x")
HOT = ("flight.glass", "materials.practice.strength.*")
WALL = (*STIFFNESS, "materials.practice.ply.poisson_across")
PLIES = (
    *(f"materials.fibres.*.ply_{key}" for key in (*PLY, "fraction")),
    "materials.practice.braid.crimp_strength",
)
FAILS = (*LOADED, *HOT, *WALL, *PLIES)
BUCKLES = (*LOADED, *HOT, *WALL, "shape.tip", "shape.base")
DOUBTS = (
    "job.compaction.fibre_fraction | materials.compactions.{compaction}.fibre_fraction",
    "materials.practice.braid.angle_error",
    *BUCKLES,
)
CRITERIA = (strength.maximum_stress, strength.tsai_wu, strength.hashin, strength.resin_kept)
SHELLS = (
    local_buckling.axial_load,
    local_buckling.cylinder_share,
    local_buckling.outside_pressure,
)


@dataclass(frozen=True)
class Failure:
    """Where and how the wall first fails under one case, and by how much the load may grow."""

    id: str
    name: str
    cracks: float = result(
        "load factor at which a ply first fails", "", CRITERIA, (*FAILS, *DOUBTS), "spread"
    )
    spread: float = result("its standard uncertainty", "", (), (*FAILS, *DOUBTS))
    cracks_x: float = result("where, x from the tip", "mm", CRITERIA, FAILS)
    layer: str = result("the layer that fails", "", (), FAILS)
    mode: str = result("how it fails", "", strength.first_failure, FAILS)
    kept: float = result(
        "share of the resin's strength kept there", "%", strength.resin_kept, FAILS
    )
    buckles: float = result("load factor at which it buckles", "", SHELLS, DOUBTS, "buckles_spread")
    buckles_spread: float = result("its standard uncertainty", "", (), DOUBTS)
    buckles_x: float = result("where, x from the tip", "mm", SHELLS, BUCKLES)

    @property
    def reserve(self) -> float:
        """Reserve factor: the lesser of both, each less one spread."""
        return min(self.cracks - self.spread, self.buckles - self.buckles_spread)

    @property
    def buckling(self) -> bool:
        """It buckles before a ply fails."""
        return self.buckles < self.cracks

    @property
    def factor(self) -> float:
        """Load factor of what comes first, no spread taken off."""
        return min(self.cracks, self.buckles)

    @property
    def how(self) -> str:
        """What happens first, in words."""
        return "buckling" if self.buckling else f"{self.mode} in {self.layer}"

    @property
    def x(self) -> float:
        """Where that happens, from the tip of the full profile (m)."""
        return self.buckles_x if self.buckling else self.cracks_x


@dataclass(frozen=True)
class Strength:
    """First failure of every case that loads the wall, and the least reserve along the part."""

    x: Array = result("stations, x from the tip", "mm", (), ("flight.x",))
    cracks: Array = result("load factor of the first ply along the part", "", CRITERIA, FAILS)
    buckles: Array = result("load factor of buckling along the part", "", SHELLS, BUCKLES)
    failures: tuple[Failure, ...] = result("first failure, case by case", "", (), (*FAILS, *DOUBTS))
    unknown: tuple[str, ...] = result("fibres whose plies nobody tested", "", (), PLIES)
    proof: float = result(
        "force across the tip, held at the base, that bends it 1.2 times as far as the flight",
        "N",
        (),
        LOADED,
    )
    proof_factor: float = result("load factor of a first failure under it, cold", "", (), FAILS)

    @property
    def worst(self) -> Failure | None:
        """The case with the least reserve."""
        return min(self.failures, key=lambda one: one.reserve, default=None)


@dataclass(frozen=True)
class _Judged:
    """What the factors are made of, so that they can be made again with an input moved."""

    shape: Shape
    stack: Stack
    parts: Constituents
    flight: Flight
    cases: list[Case]
    library: Library
    fraction_spread: float

    def factors(
        self, at: NDArray[np.intp], change: tuple[float, float] = (0.0, 0.0)
    ) -> tuple[Array, tuple[NDArray[np.intp], NDArray[np.intp]], Array, Walls]:
        """Load factors of plies, pair and mode, of buckling, (case, place) at some stations."""
        warm = np.stack([case.mean[at] for case in self.cases])
        kept = resin_left(warm, self.flight.glass, self.library)
        walls = warm_walls(self.stack, self.parts, self.flight.nodes[at], kept, change)
        forces = np.stack([_forces(case, at, walls) for case in self.cases])
        cracks, where = _cracks(walls, forces, self.stack, self.library)
        return cracks, where, _buckles(walls, self.cases, at, self.shape), walls

    def spreads(self, cracks: Array, buckles: Array) -> tuple[Array, Array]:
        """Relative standard uncertainty by V_f and angle of both factors, per case.

        By one step of one standard uncertainty each, at the places that set the factors.
        """
        rows = np.arange(len(self.cases))
        places = np.nanargmin(cracks, axis=1), np.nanargmin(buckles, axis=1)
        at = np.unique(np.concatenate(places))
        seats = [np.searchsorted(at, place) for place in places]
        now = [factor[rows, place] for factor, place in zip((cracks, buckles), places, strict=True)]
        squares = [np.zeros(len(rows)), np.zeros(len(rows))]
        for change in self._doubts():
            ply, _, shell, _ = self.factors(at, change)
            for n, moved in enumerate((ply, shell)):
                known = np.isfinite(now[n])
                squares[n][known] += (moved[rows, seats[n]][known] / now[n][known] - 1.0) ** 2
        return np.sqrt(squares[0]), np.sqrt(squares[1])

    def _doubts(self) -> tuple[tuple[float, float], ...]:
        """One standard uncertainty of V_f, then one of the angle."""
        return (self.fraction_spread, 0.0), (
            0.0,
            self.library.practice["braid"]["angle_error"].spread,
        )


def judge_strength(
    job: Job,
    shape: Shape,
    stack: Stack,
    parts: Constituents,
    flight: Flight | None,
    library: Library,
) -> Strength | None:
    """Membrane and beam forces of every case through the laminate, ply by ply, warm as it is then.

    N_s = N/(2πr cos β) ± M/(πr² cos β), N_φ = −p r/cos β, N_sφ = V/(πr) between the two sides;
    ε = A⁻¹N, ply stress σ = Q ε(±θ); λ the least of maximum stress, Tsai-Wu and Hashin.
    Buckling: 1/λ = N_c/(γ N_cl) + N_b/(γ_b N_cl) + p/(γ_p p_cl), N_cl, p_cl of the warm wall,
    γ by SP-8007 below a half angle of 10° and by SP-8019 above. Spread: strength, V_f and angle.
    """
    if flight is None:
        return None
    cases = [case for case in flight.cases if _loaded(case)]
    if not cases:
        return None
    doubt = fraction_spread(job, library)
    judged = _Judged(shape, stack, parts, flight, cases, library, doubt)
    everywhere = np.arange(len(flight.x))
    factors, where, buckling, walls = judged.factors(everywhere)
    spreads = judged.spreads(factors, buckling)
    strong = strength_spreads(stack, library)
    owned = owners(stack)
    failures = []
    for number, case in enumerate(cases):
        at, bent = int(np.nanargmin(factors[number])), int(np.nanargmin(buckling[number]))
        pair, mode = where[0][number, at], where[1][number, at]
        factor, load = float(factors[number, at]), float(buckling[number, bent])
        failures.append(
            Failure(
                case.id, case.name,
                factor, factor * math.hypot(strong[pair][mode], spreads[0][number]),
                float(flight.x[at]), stack.layers[owned[pair]].label, MODES[mode],
                float(walls.kept[number, at]),
                load, load * spreads[1][number] if np.isfinite(load) else 0.0,
                float(flight.x[bent]),
            )
        )  # fmt: skip
    cracks, buckles = (np.fmin.reduce(values) for values in (factors, buckling))
    fibres = dict.fromkeys(layer.textile.fibre for layer in stack.layers)
    proof, proof_factor = _proof(flight, failures)
    unknown = [name for name in fibres if "ply_shear" not in library.fibres[name]]
    return Strength(flight.x, cracks, buckles, tuple(failures), tuple(unknown), proof, proof_factor)


def fraction_spread(job: Job, library: Library) -> float:
    """Standard uncertainty of the fibre fraction, stated or of the compaction."""
    stated = job.compaction.fibre_fraction
    if stated is not None:
        return stated.spread
    return library.compactions[job.compaction.method]["fibre_fraction"].spread


def _proof(flight: Flight, failures: list[Failure]) -> tuple[float, float]:
    """Hand load for a proof on the ground and what is left in it, by the case of handling."""
    hand, one = flight.case("handling"), next((f for f in failures if f.id == "handling"), None)
    bent = [np.abs(case.moment).max() for case in flight.cases if case.dynamic_pressure > 0.0]
    if hand is None or one is None or not bent:
        return math.nan, math.nan
    share = PROOF * float(max(bent)) / float(np.abs(hand.moment).max())
    force = share * float(np.abs(hand.shear).max())
    return force, one.factor / share if share > 0.0 else math.inf


def _loaded(case: Case) -> bool:
    """Whether a case has any force in it."""
    return any(np.abs(v).max() > TINY for v in (case.axial, case.moment, case.shear, case.pressure))


def _forces(case: Case, at: NDArray[np.intp], walls: Walls) -> Array:
    """Line loads (side, place, 3) along, around, shear, N/m."""
    r, c = walls.radius, walls.cosine
    along = case.axial[at] / (2.0 * np.pi * r * c)
    bent = np.abs(case.moment[at]) / (np.pi * r * r * c)
    around = np.broadcast_to(-case.pressure[at] * r / c, along.shape)
    sheared = np.abs(case.shear[at]) / (np.pi * r)
    return np.stack(
        [
            np.stack((along + side * bent, around, sheared * (side == 0.0)), axis=-1)
            for side in SIDES
        ]
    )


def _cracks(
    walls: Walls, forces: Array, stack: Stack, library: Library
) -> tuple[Array, tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Least load factor (case, place) of any ply, and the pair and mode that set it."""
    A = np.where(walls.sound[:, None, None], walls.stiffness[0], np.eye(3))
    strain = np.linalg.solve(A[:, None], forces[..., None])[..., 0]  # (case, side, place, 3)
    p = walls.plies
    Q = laminate.reduced_stiffness(p.E1, p.E2, p.G12, p.nu12)  # (case, pair, place, 3, 3)
    limits = warm_strengths(stack, library, walls)
    least, pair, mode = (np.full(forces.shape[:1] + forces.shape[2:3], v) for v in (np.inf, 0, 0))
    for sign in (1.0, -1.0):
        own = laminate.turned_strain(strain[:, :, None], sign * walls.angle)
        stress = np.einsum("cplij,csplj->cspli", Q, own)
        factor, how = strength.first_failure(stress, limits)
        factor = np.where(walls.thickness > 0.0, factor, np.inf)
        flat = np.moveaxis(factor, 3, 1).reshape(*least.shape, -1)
        modes = np.moveaxis(how, 3, 1).reshape(flat.shape)
        best = flat.argmin(axis=-1)[..., None]
        value = np.take_along_axis(flat, best, -1)[..., 0]
        found = value < least
        count = factor.shape[2]
        pair = np.where(found, best[..., 0] % count, pair)
        mode = np.where(found, np.take_along_axis(modes, best, -1)[..., 0], mode)
        least = np.where(found, value, least)
    least = np.where(walls.sound, least, np.nan)
    return least, (pair.astype(np.intp), mode.astype(np.intp))


def _buckles(walls: Walls, cases: list[Case], at: NDArray[np.intp], shape: Shape) -> Array:
    """Load factor of local buckling (case, place), straight between every few stations."""
    count = len(walls.radius)
    every = EVERY if count > MANY else 1
    few = np.unique(np.append(np.arange(0, count, every), count - 1))
    few = few[walls.sound[few]]
    if few.size == 0:
        return np.full((len(cases), count), np.nan)
    A, B, D = (each[:, few] for each in walls.stiffness)
    r, c = walls.radius[few], walls.cosine[few]
    perfect = local_buckling.axial_load(A, B, D, np.broadcast_to(r / c, A.shape[:2]))
    steep = np.arccos(np.clip(c, -1.0, 1.0)) > local_buckling.STEEP
    ratio = r / c / local_buckling.equivalent_wall(A, D)
    axial = np.where(steep, local_buckling.CONE_AXIAL, local_buckling.cylinder_share(ratio))
    bending = local_buckling.cylinder_share(ratio, local_buckling.BENDING)
    bending = np.where(steep, local_buckling.CONE_BENDING, bending)
    pressed = np.where(steep, local_buckling.CONE_PRESSURE, local_buckling.PRESSURE)
    outside = local_buckling.outside_pressure(A, D, r / c, shape.base - shape.tip)
    along, moment, shut = (
        np.stack([getattr(case, key)[at][few] for case in cases])
        for key in ("axial", "moment", "pressure")
    )
    used = np.maximum(-along, 0.0) / (2.0 * np.pi * r * c) / (axial * perfect)
    used = used + np.abs(moment) / (np.pi * r * r * c) / (bending * perfect)
    used = used + np.maximum(shut, 0.0) / (pressed * outside)
    shares = np.stack([np.interp(np.arange(count), few, row) for row in used])
    none = np.full_like(shares, np.inf)
    return np.asarray(np.divide(1.0, shares, out=none, where=shares > TINY))
