"""Step 13, Strength: for every case, the load at which the wall first fails, where and how."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Entry, Library
from mandrelwright.physics import laminate, local_buckling, micromechanics, strength
from mandrelwright.physics.strength import MODES, Strengths
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import STIFFNESS, Constituents

Array = NDArray[np.float64]

SIDES = np.array([1.0, -1.0, 0.0])  # pulled side, pressed side, and between them, of bending
EVERY = 3  # stations apart at which buckling is worked out
TINY = 1e-9
PROOF = 1.2  # times the flight's bending; common practice of proof loads, 1.1 to 1.5
UNTESTED = 1e30  # Pa: a ply of which no strength is known is left out
PLY = ("tension_along", "compression_along", "tension_across", "compression_across", "shear")

LOADED = ("flight.cases", "flight.x", "stack.r", "stack.x")
HOT = ("flight.glass", "materials.practice.strength.*")
WALL = (*STIFFNESS, "materials.practice.ply.poisson_across")
PLIES = (
    *(f"materials.fibres.*.ply_{key}" for key in (*PLY, "fraction")),
    "materials.practice.braid.crimp_strength",
)
FAILS = (*LOADED, *HOT, *WALL, *PLIES)
BUCKLES = (*LOADED, *HOT, *WALL, "shape.tip", "shape.base")
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
    cracks: float = result("load factor at which a ply first fails", "", CRITERIA, FAILS, "spread")
    spread: float = result("its standard uncertainty", "", (), FAILS)
    cracks_x: float = result("where, x from the tip", "mm", CRITERIA, FAILS)
    layer: str = result("the layer that fails", "", (), FAILS)
    mode: str = result("how it fails", "", strength.first_failure, FAILS)
    kept: float = result(
        "share of the resin's strength kept there", "%", strength.resin_kept, FAILS
    )
    buckles: float = result("load factor at which it buckles", "", SHELLS, BUCKLES)
    buckles_x: float = result("where, x from the tip", "mm", SHELLS, BUCKLES)

    @property
    def reserve(self) -> float:
        """Reserve factor: the lesser of both, a ply's less one spread."""
        return min(self.cracks - self.spread, self.buckles)

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
    failures: tuple[Failure, ...] = result("first failure, case by case", "", (), FAILS)
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


class _Walls(NamedTuple):
    """The wall at the stations, warm: arrays (case, place, ...), or (case, pair, place)."""

    angle: Array  # (pair, place)
    thickness: Array
    radius: Array  # of the middle, (place,)
    cosine: Array  # of the slope
    plies: micromechanics.Ply
    stiffness: tuple[Array, Array, Array]  # A, B, D
    kept: Array  # (case, place)
    sound: NDArray[np.bool_]


def judge_strength(
    shape: Shape, stack: Stack, parts: Constituents, flight: Flight | None, library: Library
) -> Strength | None:
    """Membrane and beam forces of every case through the laminate, ply by ply, warm as it is then.

    N_s = N/(2πr cos β) ± M/(πr² cos β), N_φ = −p r/cos β, N_sφ = V/(πr) between the two sides;
    ε = A⁻¹N, ply stress σ = Q ε(±θ); λ the least of maximum stress, Tsai-Wu and Hashin.
    Buckling: 1/λ = N_c/(γ N_cl) + N_b/(γ_b N_cl) + p/(γ_p p_cl), N_cl, p_cl of the warm wall,
    γ by SP-8007 below a half angle of 10° and by SP-8019 above.
    """
    if flight is None:
        return None
    cases = [case for case in flight.cases if _loaded(case)]
    if not cases:
        return None
    walls = _walls(stack, parts, flight, cases, library)
    forces = np.stack([_forces(case, walls) for case in cases])
    factors, where = _cracks(walls, forces, stack, library)
    buckling = _buckles(walls, cases, shape)
    spreads = _spreads(stack, library)
    owners = _owners(stack)
    failures = []
    for number, case in enumerate(cases):
        at, bent = int(np.nanargmin(factors[number])), int(np.nanargmin(buckling[number]))
        pair, mode = where[0][number, at], where[1][number, at]
        factor = float(factors[number, at])
        failures.append(
            Failure(
                case.id, case.name, factor, factor * spreads[pair][mode], float(flight.x[at]),
                stack.layers[owners[pair]].label, MODES[mode], float(walls.kept[number, at]),
                float(buckling[number, bent]), float(flight.x[bent]),
            )
        )  # fmt: skip
    cracks, buckles = (np.fmin.reduce(values) for values in (factors, buckling))
    fibres = dict.fromkeys(layer.textile.fibre for layer in stack.layers)
    proof, proof_factor = _proof(flight, failures)
    unknown = [name for name in fibres if "ply_shear" not in library.fibres[name]]
    return Strength(flight.x, cracks, buckles, tuple(failures), tuple(unknown), proof, proof_factor)


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


def _owners(stack: Stack) -> list[int]:
    """The layer that every pair belongs to."""
    none = np.zeros(0)
    return [n for n, layer in enumerate(stack.layers) for _ in layer.textile.families(none)]


def _walls(
    stack: Stack, parts: Constituents, flight: Flight, cases: list[Case], library: Library
) -> _Walls:
    """Stiffness of the wall at the stations with the resin as warm as in each case."""
    nodes, practice = flight.nodes, library.practice["strength"]
    angle, thickness = (values[:, nodes] for values in stack.pairs)
    radius = 0.5 * (stack.r[0] + stack.r[-1])[nodes]
    cosine = stack.meridian.tangent(stack.outside).cosine[nodes]
    warm = np.stack([case.mean for case in cases])
    reference, exponent = practice["resin_reference"].value, practice["resin_exponent"].value
    kept = strength.resin_kept(warm, flight.glass, reference, exponent)
    resin = replace(parts.resin, E=parts.resin.E * kept[:, None, :])
    plies = micromechanics.ply(
        parts.fibre, resin, stack.fibre_fraction, parts.across_poisson, parts.crimp
    )
    pairs = laminate.pair_stiffness(plies, angle)
    wall = thickness.sum(axis=0)
    bottom = -0.5 * wall
    edges = np.concatenate((bottom[None], bottom + np.cumsum(thickness, axis=0)))
    ABD = laminate.assemble(np.moveaxis(pairs, 1, 2), edges.T)
    sound = ~stack.jammed[:, nodes].any(axis=0) & (wall > 0.0)
    return _Walls(angle, thickness, radius, cosine, plies, ABD, kept, sound)


def _forces(case: Case, walls: _Walls) -> Array:
    """Line loads (side, place, 3) along, around, shear, N/m."""
    r, c = walls.radius, walls.cosine
    along = case.axial / (2.0 * np.pi * r * c)
    bent = np.abs(case.moment) / (np.pi * r * r * c)
    around = np.broadcast_to(-case.pressure * r / c, along.shape)
    sheared = np.abs(case.shear) / (np.pi * r)
    return np.stack(
        [
            np.stack((along + side * bent, around, sheared * (side == 0.0)), axis=-1)
            for side in SIDES
        ]
    )


def _cracks(
    walls: _Walls, forces: Array, stack: Stack, library: Library
) -> tuple[Array, tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Least load factor (case, place) of any ply, and the pair and mode that set it."""
    A = np.where(walls.sound[:, None, None], walls.stiffness[0], np.eye(3))
    strain = np.linalg.solve(A[:, None], forces[..., None])[..., 0]  # (case, side, place, 3)
    p = walls.plies
    Q = laminate.reduced_stiffness(p.E1, p.E2, p.G12, p.nu12)  # (case, pair, place, 3, 3)
    limits = _strengths(stack, library, walls.kept)
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


def _strengths(stack: Stack, library: Library, kept: Array) -> Strengths:
    """Strengths of every pair as warm as each case, (case, 1, pair, place)."""
    fibres = _fibres(stack, library)
    pulled, pressed, torn, crushed, sheared = (
        np.array([[_value(entry, key)] for entry in fibres]) for key in PLY
    )
    reference = np.array([[_value(entry, "fraction")] for entry in fibres])
    cold = Strengths(pulled, pressed, torn, crushed, sheared, 0.5 * crushed)
    crimp = library.practice["braid"]["crimp_strength"].value
    here = strength.at_fraction(cold, stack.fibre_fraction, reference, crimp)
    return strength.heated(here, kept[:, None, None, :])


def _fibres(stack: Stack, library: Library) -> list[Entry]:
    """The fibre of every pair."""
    return [library.fibres[stack.layers[n].textile.fibre] for n in _owners(stack)]


def _value(entry: Entry, key: str) -> float:
    datum = entry.get(f"ply_{key}")
    return UNTESTED if datum is None else datum.value


def _spreads(stack: Stack, library: Library) -> list[list[float]]:
    """Relative standard uncertainty of the strength behind every mode, by pair."""
    crimp = library.practice["braid"]["crimp_strength"]
    tow = (crimp.spread / crimp.value, crimp.spread / crimp.value, 0.0, 0.0, 0.0)
    return [
        [
            math.hypot(datum.spread / datum.value, more)
            if (datum := entry.get(f"ply_{key}"))
            else 0.0
            for key, more in zip(PLY, tow, strict=True)
        ]
        for entry in _fibres(stack, library)
    ]


def _buckles(walls: _Walls, cases: list[Case], shape: Shape) -> Array:
    """Load factor of local buckling (case, place), straight between every few stations."""
    count = len(walls.radius)
    few = np.unique(np.append(np.arange(0, count, EVERY), count - 1))
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
        np.stack([getattr(case, key)[few] for case in cases])
        for key in ("axial", "moment", "pressure")
    )
    used = np.maximum(-along, 0.0) / (2.0 * np.pi * r * c) / (axial * perfect)
    used = used + np.abs(moment) / (np.pi * r * r * c) / (bending * perfect)
    used = used + np.maximum(shut, 0.0) / (pressed * outside)
    at = np.arange(count)
    shares = np.stack([np.interp(at, few, row) for row in used])
    none = np.full_like(shares, np.inf)
    return np.asarray(np.divide(1.0, shares, out=none, where=shares > TINY))
