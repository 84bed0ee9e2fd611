"""The wall as a shell of revolution: its elements, its stiffness and loads in every case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.physics import shell
from mandrelwright.physics.curves import Curve, hermite
from mandrelwright.physics.shell import SHAPES, Shell
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.stack import THINNEST, Stack
from mandrelwright.stages.wall import Constituents
from mandrelwright.stages.warm_wall import Walls, resin_left, warm_walls

Array = NDArray[np.float64]

MOST = 400  # elements
NARROWEST = 2e-3  # m: radius below which a tip counts as closed
FEWEST_STATIONS = 4  # of sound wall, below which there is nothing to judge
NEXT, NEAREST = 0.5, 0.04  # graded elements: length over distance to the end; over bent length


@dataclass(frozen=True)
class Mesh:
    """How fine: elements to a half wave of bending, and whether they shorten towards the ends."""

    per_half_wave: float
    graded: bool


@dataclass(frozen=True)
class Model:
    """A span of the wall as elements, with walls of every case: (case, ...) at nodes, (case,
    element, 2, 10, 10) stiffness at the points of integration.
    """

    stack: Stack
    parts: Constituents
    flight: Flight
    shell: Shell
    nodes: NDArray[np.intp]  # of the stack, nearest to each node of the shell
    warm: Array  # K
    kept: Array
    stiffness: Array

    def at(self, values: Array) -> Array:
        """Values along the stations (case, place) at the nodes, by straight lines."""
        return along(self.shell.node_x, self.flight.x, values)

    def walls(self, at: NDArray[np.intp]) -> Walls:
        """The warm wall at some of the nodes."""
        return warm_walls(self.stack, self.parts, self.nodes[at], self.kept[:, at])


def along(at: Array, x: Array, values: Array) -> Array:
    """Values (case, place) by straight lines at other x, (case, ...)."""
    return np.array([np.interp(at, x, row) for row in values])


def sound_span(stack: Stack, flight: Flight) -> tuple[float, float] | None:
    """From where to where along x the wall is a laminate off the axis down to the base."""
    nodes = np.arange(flight.nodes[0], flight.nodes[-1] + 1)
    bad = stack.jammed.any(axis=0) | (stack.wall <= THINNEST) | (_middle(stack).r <= NARROWEST)
    start = int(nodes[bad[nodes]][-1]) + 1 if bad[nodes].any() else int(nodes[0])
    if (flight.nodes >= start).sum() < FEWEST_STATIONS:
        return None
    return float(_middle(stack).x[start]), float(flight.x[-1])


def _middle(stack: Stack) -> Curve:
    """The middle of the wall."""
    return Curve(0.5 * (stack.x[0] + stack.x[-1]), 0.5 * (stack.r[0] + stack.r[-1]))


def make_model(
    stack: Stack,
    parts: Constituents,
    flight: Flight,
    cases: list[Case],
    span: tuple[float, float],
    mesh: Mesh,
    library: Library,
) -> Model:
    """Elements on the middle surface between two x, each case's walls as warm as it finds them."""
    middle = _middle(stack)
    u, D, s = stack.meridian.u, stack.meridian.derivative, stack.meridian.arc_length(middle)
    first, last = np.interp(span, middle.x, s)
    walls = warm_walls(stack, parts, flight.nodes, np.ones((1, len(flight.nodes))))
    bent = np.interp(s, s[flight.nodes], _bent_length(walls))
    node_s = _spaced(s, bent, first, last, mesh)
    at = np.interp(node_s, s, u)
    (x, _), (r, _) = (hermite(u, y, D @ y, at) for y in (middle.x, middle.r))
    nodes = np.abs(node_s[:, None] - s).argmin(axis=1)
    warm = along(x, flight.x, np.array([case.mean for case in cases]))
    kept = resin_left(warm, flight.glass, library)
    walls = warm_walls(stack, parts, nodes, kept)
    K = shell.shear_stiffness(walls.plies, walls.angle, walls.thickness)
    t = walls.thickness.sum(axis=0)
    made = [
        shell.make_shell((x, r), (A, B, D), K[n], t)
        for n, (A, B, D) in enumerate(zip(*walls.stiffness, strict=True))
    ]
    stiffness = np.stack([one.stiffness for one in made])
    return Model(stack, parts, flight, made[0], nodes, warm, kept, stiffness)


def _bent_length(walls: Walls) -> Array:
    """(r² D11/A22)^¼ with r square to the meridian: a half wave of bending over π."""
    A, _, D = (np.where(walls.sound[:, None, None], item[0], np.eye(3)) for item in walls.stiffness)
    square = (walls.radius / walls.cosine) ** 2
    bent = (square * D[:, 0, 0] / A[:, 1, 1]) ** 0.25
    return np.where(walls.sound, bent, np.median(bent[walls.sound]))


def _spaced(s: Array, bent: Array, first: float, last: float, mesh: Mesh) -> Array:
    """Ends and middles of elements along s, as dense as bending asks, denser towards the ends."""
    fine = np.linspace(first, last, 8 * MOST)
    here = np.interp(fine, s, bent)
    dense = mesh.per_half_wave / (np.pi * here)
    if mesh.graded:
        end = NEXT * (np.minimum(fine - first, last - fine) + NEAREST * here)
        dense = np.maximum(dense, 1.0 / end)
    passed = np.concatenate(([0.0], np.cumsum(0.5 * (dense[1:] + dense[:-1]) * np.diff(fine))))
    count = min(max(int(np.ceil(passed[-1])), FEWEST_STATIONS), MOST)
    rims = np.interp(np.linspace(0.0, passed[-1], count + 1), passed, fine)
    out = np.empty(2 * count + 1)
    out[0::2], out[1::2] = rims, 0.5 * (rims[1:] + rims[:-1])
    return out


def axial_load(model: Model, force: Array, pressure: Array) -> tuple[Array, Array, Array]:
    """Loads without waves: tractions (case, element, 2, 3) and both rims (case, 3).

    ``force`` along the axis (tension positive) and ``pressure`` outside minus inside at the
    nodes, (case, node): the force changes by tractions along the axis, and the pressure pushes
    inwards; what it pushes along the axis is in the force already.
    """
    made = model.shell
    traction = np.zeros((len(force), *made.r.shape, 3))
    traction[..., 0] = -_per_area(made, force)
    traction[..., 1] = -_at_points(pressure) * np.cos(made.beta)
    rim = 2.0 * np.pi * made.node_r
    none = np.zeros((len(force), 2))
    first, last = -force[:, :1] / rim[0], force[:, -1:] / rim[-1]
    return traction, np.hstack((first, none)), np.hstack((last, none))


def side_load(model: Model, shear: Array, moment: Array) -> tuple[Array, Array]:
    """Loads of one wave: tractions (case, element, 2, 3) and the first rim (case, 3).

    Shear and moment at the nodes, (case, node): dV/ds pushes every ring aside as a whole; the
    moment follows from the shear and from its value at the first rim.
    """
    made = model.shell
    traction = np.zeros((len(shear), *made.r.shape, 3))
    traction[..., 1] = _per_area(made, shear)
    traction[..., 2] = -traction[..., 1]
    r = made.node_r[0]
    aside = shear[:, 0] / (2.0 * np.pi * r)
    return traction, np.stack((moment[:, 0] / (np.pi * r * r), aside, -aside), axis=1)


def _per_area(made: Shell, force: Array) -> Array:
    """dF/ds over 2πr at the points of integration, (case, element, 2)."""
    span = made.length.sum(axis=1)
    return np.asarray((np.diff(force[:, ::2]) / span)[..., None] / (2.0 * np.pi * made.r))


def _at_points(values: Array) -> Array:
    """Values at the nodes (case, node) at the points of integration, (case, element, 2)."""
    three = np.stack((values[:, :-2:2], values[:, 1:-1:2], values[:, 2::2]), axis=-1)
    return np.asarray(three @ SHAPES.T)
