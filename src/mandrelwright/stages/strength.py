"""Step 13, Strength: for every case, the load at which the wall first fails, where and how."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import laminate, local_buckling, strength
from mandrelwright.physics.shell import at_depth, buckle
from mandrelwright.physics.strength import MODES
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.load_factors import PUSHES, TINY, Doubt, Judged, Plies, rows_of, shell
from mandrelwright.stages.record import result
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.wall import (
    CURE_SHRINKAGE,
    FIBRE,
    RESIN,
    STIFFNESS,
    Constituents,
    cure_shrinkage,
)
from mandrelwright.stages.warm_wall import PLY, Walls, owners, strength_spreads

Array = NDArray[np.float64]

MEMBRANE, LOCAL = "membrane forces", "local buckling"
PROOF = 1.2  # times the flight's bending; common practice of proof loads, 1.1 to 1.5

LOADED = ("flight.cases", "flight.x", "stack.r", "stack.x")
HOT = ("flight.glass", "materials.practice.strength.*")
WALL = (*STIFFNESS, "materials.practice.ply.poisson_across")
PLIES = (
    *(f"materials.fibres.*.ply_{key}" for key in (*PLY, "fraction")),
    "materials.practice.braid.crimp_strength",
)
LEFT = (
    "cure.set_temperature",
    "cure.share_kept",
    CURE_SHRINKAGE,
    *(f"{FIBRE}expansion_{way}" for way in ("along", "across")),
    f"{RESIN}expansion",
)
FAILS = (*LOADED, *HOT, *WALL, *PLIES, *LEFT)
BUCKLES = (*LOADED, *HOT, *WALL, "shape.tip", "shape.base")
DOUBTS = (
    "job.compaction.fibre_fraction | materials.compactions.{compaction}.fibre_fraction",
    "materials.practice.braid.angle_error",
    "flight.glass_spread",
    "flight.heat_doubt",
    "flight.sun_spread",
    "cure.kept_spread",
    *BUCKLES,
)
CRITERIA = (strength.maximum_stress, strength.tsai_wu, strength.hashin, strength.resin_kept)
SHELLS = (
    local_buckling.axial_load,
    local_buckling.cylinder_share,
    local_buckling.outside_pressure,
    local_buckling.torsion_load,
)


class Way(NamedTuple):
    """How a wall fails, what tells so, and where, x from the tip of the full profile (m)."""

    how: str
    by: str
    x: float


@dataclass(frozen=True)
class Failure:
    """Where and how the wall first fails under one case, and by how much the load may grow."""

    id: str
    name: str
    cracks: float = result(
        "load factor at which a ply first fails", "", (*CRITERIA, at_depth),
        ("strength.failures.{item}.cracks_by", "shape.fits", *FAILS, *DOUBTS), "spread",
    )  # fmt: skip
    spread: float = result("its standard uncertainty", "", (), (*FAILS, *DOUBTS))
    heat: float = result("of it by glass transition and warmth", "", (), (*FAILS, *DOUBTS))
    cracks_x: float = result("where, x from the tip", "mm", CRITERIA, FAILS)
    layer: str = result("the layer that fails", "", (), FAILS)
    mode: str = result("how it fails", "", strength.first_failure, FAILS)
    kept: float = result(
        "share of the resin's strength kept there", "%", strength.resin_kept, FAILS
    )
    buckles: float = result(
        "load factor at which it buckles", "", (*SHELLS, buckle),
        ("strength.failures.{item}.buckles_by", *DOUBTS), "buckles_spread",
    )  # fmt: skip
    buckles_spread: float = result("its standard uncertainty", "", (), DOUBTS)
    buckles_heat: float = result("of it by glass transition and warmth", "", (), DOUBTS)
    buckles_x: float = result("where, x from the tip", "mm", SHELLS, BUCKLES)
    push: str = result("what pushes most where local buckling comes", "", (), BUCKLES)
    cracks_by: str = result("what the ply's factor is by, membrane or shell", "", (), FAILS)
    buckles_by: str = result("what the buckling factor is by, local or shell", "", (), BUCKLES)
    alone: float = result(
        "reserve factor by membrane and local buckling alone", "", (), (*FAILS, *DOUBTS)
    )

    @property
    def reserve(self) -> float:
        """Reserve factor: the lesser of both, each less one spread."""
        factor, spread = self.binding
        return factor - spread

    @property
    def binding(self) -> tuple[float, float]:
        """Load factor and spread of what leaves the least reserve."""
        ply, shell = (self.cracks, self.spread), (self.buckles, self.buckles_spread)
        return min(ply, shell, key=lambda one: one[0] - one[1])

    @property
    def buckling(self) -> bool:
        """It buckles before a ply fails."""
        return self.buckles < self.cracks

    @property
    def factor(self) -> float:
        """Load factor of what comes first, no spread taken off."""
        return min(self.cracks, self.buckles)

    @property
    def heat_share(self) -> float:
        """How far one step of glass transition, warmth and loss to heat moves what comes first."""
        heat = self.buckles_heat if self.buckling else self.heat
        return heat / self.factor if self.factor > 0.0 else 0.0

    @property
    def how(self) -> str:
        """What happens first, in words."""
        return self._way(self.buckling).how

    @property
    def by(self) -> str:
        """What tells that: membrane forces, local buckling, or the shell of revolution."""
        return self._way(self.buckling).by

    @property
    def x(self) -> float:
        """Where that happens, from the tip of the full profile (m)."""
        return self._way(self.buckling).x

    @property
    def least(self) -> Way:
        """What sets the reserve; with another spread it need not be what comes first."""
        return self._way(self.buckles - self.buckles_spread < self.cracks - self.spread)

    def _way(self, buckling: bool) -> Way:
        if not buckling:
            return Way(f"{self.mode} in {self.layer}", self.cracks_by, self.cracks_x)
        how = f"buckling by {self.push}" if self.buckles_by == LOCAL else "buckling as one shell"
        return Way(how, self.buckles_by, self.buckles_x)


@dataclass(frozen=True)
class Strength:
    """First failure of every case that loads the wall, and the least reserve along the part."""

    x: Array = result("stations, x from the tip", "mm", (), ("flight.x",))
    cracks: Array = result(
        "load factor of the first ply along the part, membrane or shell", "",
        (*CRITERIA, at_depth), ("shape.fits", *FAILS),
    )  # fmt: skip
    buckles: Array = result(
        "load factor of buckling along the part, local or whole", "", (*SHELLS, buckle), BUCKLES
    )
    failures: tuple[Failure, ...] = result("first failure, case by case", "", (), (*FAILS, *DOUBTS))
    unknown: tuple[str, ...] = result("fibres whose plies nobody tested", "", (), PLIES)
    proof: float = result(
        "force across the tip, held at the base, that bends it 1.2 times as far as the flight",
        "N",
        (),
        LOADED,
    )
    proof_factor: float = result("load factor of a first failure under it, cold", "", (), FAILS)
    left: float = result(
        "largest stress across the fibres before any load, from cure and cooling", "MPa",
        laminate.ply_residual, FAILS,
    )  # fmt: skip
    left_share: float = result(
        "that over what the ply bears across its fibres, as warm as it is then", "%",
        laminate.ply_residual, FAILS,
    )  # fmt: skip

    @property
    def worst(self) -> Failure | None:
        """The case with the least reserve."""
        return min(self.failures, key=lambda one: one.reserve, default=None)


def _doubts(job: Job, flight: Flight, cure: Cure, library: Library) -> tuple[Doubt, ...]:
    """One step of every input that the factors are doubted by."""
    strain, spread = cure_shrinkage(job, library)
    kept = math.hypot(
        spread / strain if strain else 0.0,
        cure.kept_spread / cure.share_kept if cure.share_kept else 0.0,
    )
    return (
        Doubt(fraction=fraction_spread(job, library)),
        Doubt(angle=library.practice["braid"]["angle_error"].spread),
        Doubt(cure=kept),
        Doubt(glass=-flight.glass_spread),
        Doubt(warmer=1.0),
        Doubt(exponent=library.practice["strength"]["resin_exponent"].spread),
    )


def judge_strength(
    job: Job,
    stack: Stack,
    parts: Constituents,
    cure: Cure,
    flight: Flight | None,
    library: Library,
) -> Strength | None:
    """Membrane and beam forces of every case through the laminate, ply by ply, warm as it is then.

    N_s = N/(2πr cos β) ± M/(πr² cos β), N_φ = −p r/cos β, N_sφ = V/(πr) between the two sides;
    ε = A⁻¹N, ply stress λ Q ε(±θ) and what cure and cooling left; λ the least of maximum stress,
    Tsai-Wu and Hashin. Buckling: 1/λ = N_c/(γ N_cl), the mean of p/(γ_p p_cl) and the
    larger of N_b/(γ_b N_cl) and the mean of N_sφ/(γ_t N_t), of the warm wall, γ by SP-8007 below a
    half angle of 10°, by SP-8019 above. Spread: strength, V_f, angle, cure strain, what heat takes.
    """
    if flight is None:
        return None
    cases = [case for case in flight.cases if _loaded(case)]
    if not cases:
        return None
    length = float(np.hypot(np.diff(flight.x), np.diff(_middle(stack)[flight.nodes])).sum())
    judged = Judged(stack, parts, flight, library, cure.share_kept, cure.set_temperature, length)
    rows = rows_of(cases, np.arange(len(flight.x)))
    plies, walls = judged.plies(rows)
    if not walls.sound.any():
        return None
    buckles, shared = shell(judged, rows, walls)
    at, bent = np.nanargmin(plies.factor, axis=1), np.nanargmin(buckles, axis=1)
    doubts = _doubts(job, flight, cure, library)
    spreads = judged.spreads(cases, doubts, at, bent, shared)
    strong, owned = strength_spreads(stack, library), owners(stack)
    failures = []
    for n, case in enumerate(cases):
        pair, mode = plies.pair[n, at[n]], plies.mode[n, at[n]]
        factor, load = float(plies.factor[n, at[n]]), float(buckles[n, bent[n]])
        known = load if np.isfinite(load) else 0.0  # nothing to doubt where nothing buckles
        failures.append(
            Failure(
                case.id, case.name,
                factor, factor * min(math.hypot(strong[pair][mode], spreads.plies[n]), 1.0),
                factor * float(spreads.plies_heat[n]), float(flight.x[at[n]]),
                stack.layers[owned[pair]].label, MODES[mode], float(walls.kept[n, at[n]]),
                load, known * float(spreads.shell[n]), known * float(spreads.shell_heat[n]),
                float(flight.x[bent[n]]), PUSHES[spreads.push[n]], MEMBRANE, LOCAL, math.nan,
            )
        )  # fmt: skip
    fibres = dict.fromkeys(layer.textile.fibre for layer in stack.layers)
    unknown = [name for name in fibres if "ply_shear" not in library.fibres[name]]
    return Strength(
        flight.x, np.fmin.reduce(plies.factor), np.fmin.reduce(buckles), tuple(failures),
        tuple(unknown), *_proof(flight, failures), *_left(plies, walls),
    )  # fmt: skip


def _middle(stack: Stack) -> Array:
    """Radius of the middle of the wall, m."""
    return np.asarray(0.5 * (stack.r[0] + stack.r[-1]))


def _left(plies: Plies, walls: Walls) -> tuple[float, float]:
    """Largest stress across the fibres before any load (Pa), over what the ply bears so."""
    share = np.where(walls.thickness > 0.0, plies.left / plies.limit, -np.inf)
    share = np.where(np.isfinite(share), share, -np.inf)
    worst = np.unravel_index(int(share.argmax()), share.shape)
    return float(plies.left[worst]), float(share[worst])


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
