"""Step 14, Radio: what of each antenna's power passes the wall, and what to swap where little."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Entry, Library
from mandrelwright.job.spec import Antenna, Job
from mandrelwright.physics import radio
from mandrelwright.physics.radio import LIGHT, Wave
from mandrelwright.physics.uncertainty import Model, propagate
from mandrelwright.stages.assembly import assemble
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.flight import fly
from mandrelwright.stages.record import result
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.strength import Strength, judge_strength
from mandrelwright.stages.swap import swapped
from mandrelwright.stages.wall import read_constituents
from mandrelwright.stages.whole import as_shell

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

OBLIQUE = math.radians(60.0)  # beyond, a curved wall is hardly met
SWAP_FOR = "E-glass"

BEHIND = ("shape.base", "stack.x", "stack.thickness", "stack.layers", "stack.fibre_fraction")
SPREADS = ("job.compaction.fibre_fraction | materials.compactions.{compaction}.fibre_fraction",)
ELECTRIC = ("permittivity", "loss_tangent", "laminate_conductivity")
PASSES = (radio.through, radio.permittivity, radio.mixed)


PLACE = ("job.antenna[{row}]", "shape.base")


@dataclass(frozen=True)
class Heard:
    """One antenna behind its wall; losses in dB, positive, at the worst place of its extent."""

    name: str
    uses: tuple[str, ...]
    frequency: float = result("frequency", "MHz", (), ("job.antenna[{row}]",))
    start: float = result("tipward end, x from the tip", "mm", (), PLACE)
    stop: float = result("baseward end, x from the tip", "mm", (), PLACE)
    loss: float = result("loss straight through the wall", "dB", PASSES, spread="spread")
    spread: float = result("its standard uncertainty", "dB", propagate)
    least: float = result("least of it over the extent", "dB", PASSES)
    slant_te: float = result("loss at 60°, electric field along the wall", "dB", PASSES)
    slant_tm: float = result("loss at 60°, magnetic field along the wall", "dB", PASSES)
    reflected: float = result("share sent back", "%", PASSES)
    absorbed: float = result("share kept by the wall", "%", PASSES)
    conductors: tuple[str, ...] = result("layers that conduct", "", ())
    metallic: tuple[str, ...] = result("coats with metal flakes, not counted", "", ())
    wall_distance: float = result(
        "farthest that the wall can be from it, the bore's radius",
        "mm",
        (),
        (*PLACE, "stack.x", "stack.r"),
    )
    near_field: float = result(
        "distance λ/2π within which a wall detunes", "mm", (), ("job.antenna[{row}]",)
    )

    @property
    def worst(self) -> float:
        """Largest of the three losses, dB."""
        return max(self.loss, self.slant_te, self.slant_tm)


@dataclass(frozen=True)
class Swap:
    """What it takes to let radio through: layers in glass of equal thickness."""

    layers: tuple[str, ...] = result("layers to lay in glass", "", ())
    fibre: str = result("the fibre to lay instead", "", ())
    mass: float = result("mass of the finished part then", "g", assemble)
    balance: float = result("its balance point then, from the base", "mm", assemble)
    reserve_now: float = result("least reserve factor as stated", "", judge_strength)
    reserve: float = result("least reserve factor then", "", judge_strength)
    loss: tuple[tuple[str, float], ...] = result("loss of each antenna then", "dB", PASSES)


@dataclass(frozen=True)
class Radio:
    """Every antenna that the job states, and the swap that frees those shut in."""

    antennas: tuple[Heard, ...] = result("antennas behind the wall", "", ())
    swap: Swap | None = result(
        "what to swap for antennas behind carbon",
        "",
        swapped,
        (
            "radio.antennas",
            "assembly.mass",
            "assembly.balance",
            "flight.cases",
            "strength.failures",
            *(f"materials.fibres.*.{key}" for key in ("density", *ELECTRIC)),
        ),
    )


class _Walls(NamedTuple):
    """Layers and coats at the places of one antenna, and what is uncertain of them.

    Inputs in order: V_f, ε' and tan δ of the resin; ε', tan δ and σ of every fibre; thickness,
    ε' and tan δ of every coat.
    """

    frequency: float
    thickness: Array  # (layer, place), m, at the mean V_f
    fibre: list[int]  # of each layer, its number among the fibres
    fibres: int
    coated: Mask  # (coat, place), where each lies
    mean: Array
    covariance: Array

    def passed(self, rows: Array, angle: float = 0.0, wave: Wave = "TE") -> radio.Passed:
        """What passes, (row, place), for rows of inputs."""
        f, count = self.frequency, len(rows)
        fraction, resin, resin_loss = rows[:, :3].T
        stuffs, coats = np.split(rows[:, 3:], [3 * self.fibres], axis=1)
        layers = stuffs.reshape(count, -1, 3)[:, self.fibre]
        over = coats.reshape(count, -1, 3)
        matrix = radio.permittivity(f, resin, resin_loss)[:, None]
        mix = radio.mixed(
            radio.permittivity(f, layers[..., 0], layers[..., 1]), matrix, fraction[:, None]
        )
        mix = mix + radio.permittivity(f, 0.0, 0.0, layers[..., 2])
        coated = radio.permittivity(f, over[..., 1], over[..., 2])
        eps = np.concatenate((mix, coated), axis=1)[:, None, :]
        wall = self.thickness.T * (self.mean[0] / fraction)[:, None, None]
        depth = np.concatenate((wall, over[:, None, :, 0] * self.coated.T), axis=-1)
        with np.errstate(invalid="ignore"):  # of a stuff that the library does not know
            return radio.through(np.float64(f), eps, depth, np.float64(angle), wave)

    def loss_at(self, place: int) -> Model:
        """Loss straight through at one place, dB, over rows of inputs."""
        here = slice(place, place + 1)
        one = self._replace(thickness=self.thickness[:, here], coated=self.coated[:, here])
        return lambda rows: -one.passed(rows).decibels[:, 0]


def hear(
    job: Job,
    shape: Shape,
    stack: Stack,
    cure: Cure,
    strength: Strength | None,
    library: Library,
) -> Radio:
    """Loss of every antenna through the wall beside it, straight and at 60°, with its spread.

    Layers mix fibre and resin by V_f; a layer of a fibre that conducts has the conductivity of
    its laminate, so it shuts a hybrid too.  Coats lie outside.  Metal flakes are not counted: no
    number is known.  Where an antenna is shut in by layers that conduct, the same wall with
    these layers in glass of equal thickness is weighed, loaded and heard again.
    """
    heard = tuple(_hear(job, shape, stack, library, antenna) for antenna in job.antennas)
    labels = {label for one in heard for label in one.conductors}
    numbers = frozenset(layer.number for layer in stack.layers if layer.label in labels)
    swap = None
    if numbers:
        other = swapped(stack, numbers, SWAP_FOR, library)
        whole = assemble(job, shape, other, library)
        flown = fly(job, shape, other, cure, whole, library)
        parts = read_constituents(job, other.layers, library)
        strong = judge_strength(job, other, parts, cure, flown, library)
        strong, _ = as_shell(shape, other, parts, cure, flown, strong, library)
        told = tuple(_hear(job, shape, other, library, antenna) for antenna in job.antennas)
        names = tuple(layer.label for layer in stack.layers if layer.number in numbers)
        losses = tuple((one.name, one.loss) for one in told)
        reserves = _least(strength), _least(strong)
        swap = Swap(names, SWAP_FOR, whole.mass, whole.balance, *reserves, losses)
    return Radio(heard, swap)


def _least(strength: Strength | None) -> float:
    """Least reserve factor over all cases; not known without any."""
    worst = strength.worst if strength else None
    return worst.reserve if worst else math.nan


def _hear(job: Job, shape: Shape, stack: Stack, library: Library, antenna: Antenna) -> Heard:
    """One antenna; where its extent falls between places, the nearest one stands for it."""
    start, stop = shape.base - antenna.to_base.value, shape.base - antenna.from_base.value
    x = 0.5 * (stack.x[0] + stack.x[-1])
    beside = (x >= start) & (x <= stop)
    if not beside.any():
        beside[int(np.argmin(np.abs(x - 0.5 * (start + stop))))] = True
    coats = job.assembly.finish if job.assembly else ()
    ends = [shape.base - (coat.from_base.value if coat.from_base else 0.0) for coat in coats]
    coated = x[beside] <= np.reshape(ends, (len(ends), 1))
    walls = _walls(job, stack, library, antenna.frequency.value, (beside, coated))
    mean = walls.mean[None]
    straight = walls.passed(mean)
    loss = -straight.decibels[0]
    worst = int(np.argmax(loss))
    told = propagate(walls.loss_at(worst), walls.mean, walls.covariance)
    te, tm = (float(-walls.passed(mean, OBLIQUE, wave).decibels.min()) for wave in ("TE", "TM"))
    laid = stack.thickness[:, beside].max(axis=1) > 0.0
    conducting = tuple(
        layer.label
        for layer, there in zip(stack.layers, laid, strict=True)
        if there and "laminate_conductivity" in library.fibres[layer.textile.fibre]
    )
    flakes = tuple(
        f"{coat.do} {row + 1}"
        for row, coat in enumerate(coats)
        if coat.metallic and coated[row].any()
    )
    return Heard(
        antenna.name,
        _uses(job, stack, library, antenna),
        antenna.frequency.value,
        start,
        stop,
        told.value,
        told.spread,
        float(loss.min()),
        te,
        tm,
        float(straight.reflected[0, worst]),
        float(straight.absorbed[0, worst]),
        conducting,
        flakes,
        float(stack.r[0][beside].max()),
        LIGHT / (2.0 * math.pi * antenna.frequency.value),
    )


def _uses(job: Job, stack: Stack, library: Library, antenna: Antenna) -> tuple[str, ...]:
    """Names of all that the loss of one antenna follows from."""
    row = 1 + job.antennas.index(antenna)
    used = [f"fibres.{layer.textile.fibre}" for layer in stack.layers]
    used += [f"resins.{job.resin.name}"]
    used += [f"coatings.{coat.do}" for coat in (job.assembly.finish if job.assembly else ())]
    shelves = {"fibres": library.fibres, "resins": library.resins, "coatings": library.coatings}
    electric = [
        f"materials.{name}.{key}"
        for name in dict.fromkeys(used)
        for group, _, entry in (name.partition("."),)
        for key in ELECTRIC
        if key in shelves[group][entry]
    ]
    finish = "job.assembly.finish[*]"
    return (f"job.antenna[{row}]", *BEHIND, *SPREADS, finish, *electric)


def _walls(
    job: Job, stack: Stack, library: Library, frequency: float, at: tuple[Mask, Mask]
) -> _Walls:
    """The wall beside an antenna and the means and spreads of its electric properties."""
    beside, coated = at
    names = list(dict.fromkeys(layer.textile.fibre for layer in stack.layers))
    compaction = library.compactions[job.compaction.method]["fibre_fraction"]
    fraction = job.compaction.fibre_fraction or compaction
    resin = library.resins[job.resin.name]
    inputs = [(stack.fibre_fraction, fraction.spread), *_dielectric(resin)]
    for name in names:
        fibre = library.fibres[name]
        sigma = fibre.get("laminate_conductivity")
        if sigma is None:
            inputs += [*_dielectric(fibre), (0.0, 0.0)]
        else:
            inputs += [*_dielectric(resin), (sigma.value, sigma.spread)]
    for coat in job.assembly.finish if job.assembly else ():
        inputs += [
            (coat.per_side.value, coat.per_side.spread),
            *_dielectric(library.coatings[coat.do]),
        ]
    mean, spread = np.array(inputs).T
    return _Walls(
        frequency,
        stack.thickness[:, beside],
        [names.index(layer.textile.fibre) for layer in stack.layers],
        len(names),
        coated,
        mean,
        np.diag(spread**2),
    )


def _dielectric(entry: Entry) -> list[tuple[float, float]]:
    """ε' and tan δ with their spreads; not known where the entry does not say."""
    known = (entry.get(key) for key in ("permittivity", "loss_tangent"))
    return [(item.value, item.spread) if item else (math.nan, 0.0) for item in known]
