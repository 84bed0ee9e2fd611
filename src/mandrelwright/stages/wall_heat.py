"""Heat into the wall in flight: the film along the part and the temperatures it leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.atmosphere import Air
from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.physics.driven import driven
from mandrelwright.physics.heating import Film, film, stagnation
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.cells import WALL, wall_cells
from mandrelwright.stages.course import Course
from mandrelwright.stages.loads import Body, Drag
from mandrelwright.stages.resin import read_resin
from mandrelwright.stages.shape import TUBES
from mandrelwright.stages.stack import Stack

Array = NDArray[np.float64]

PLACES = 11
COAT = 3  # cells
THIN = 2e-6  # m: where no coat lies
PASSES = 2  # films are found for the wall of the pass before


@dataclass(frozen=True)
class Warmth:
    """Temperatures over time at some places (time, place), K: surface, mean of the laminate,
    its inner face."""

    times: Array
    x: Array
    skin: Array
    mean: Array
    inner: Array

    def at(self, time: float, x: Array) -> tuple[Array, Array, Array]:
        """Skin, mean and inner at a time, straight between moments and places, each (place,)."""
        after = int(np.clip(np.searchsorted(self.times, time), 1, len(self.times) - 1))
        early, late = self.times[after - 1], self.times[after]
        share = float(np.clip((time - early) / (late - early), 0.0, 1.0))

        def at(values: Array) -> Array:
            row = (1.0 - share) * values[after - 1] + share * values[after]
            return np.asarray(np.interp(x, self.x, row))

        return at(self.skin), at(self.mean), at(self.inner)


def warm_up(
    job: Job, stack: Stack, assembly: Assembly, body: Body, nodes: NDArray[np.int64],
    drag: Drag, course: Course, start: float, library: Library,
) -> Warmth:  # fmt: skip
    """Follow the wall from ``start`` (K) through the flight, insulated inside.

    The film comes from the free air, the pressure of the place and the length run from the tip.
    Coats lie outside the laminate.
    """
    pick = np.unique(np.linspace(0, len(nodes) - 1, PLACES).round().astype(int))
    grid, x = _grid(job, stack, assembly, nodes[pick], library), body.x[body.part][pick]
    run, conical = _runs(body)
    run, conical = run[body.part][pick], conical[body.part][pick]
    free = Air(*(column[:, None] for column in course.air))
    mach = np.maximum(course.mach, 1e-3)[:, None]
    pressed = drag.pressure(course.mach)[:, body.part][:, pick]
    first = job.sections[0]
    blunt = None if isinstance(first, TUBES) else first.tip.blunt
    skin = np.full((len(course.times), len(pick)), start)
    for _ in range(PASSES):
        over = film(free, mach, pressed, run, conical, skin)
        if blunt is not None:
            over = _blunt(over, stagnation(free, mach, blunt.value), body.x[0], x, blunt.value)
        initial = np.full(grid.capacity.shape, start)
        found = driven(grid, course.times, over.coefficient, over.recovery, initial)
        skin = found.surface
    mean = grid.mean(found.cells, slice(0, WALL))
    return Warmth(course.times, x, skin, mean, found.cells[..., 0])


def _blunt(plain: Film, point: Film, apex: float, x: Array, radius: float) -> Film:
    """On a round tip no less than its stagnation point's film, falling with the turn away."""
    turned = np.clip(1.0 - (x - apex) / radius, 0.0, 1.0)
    h = np.maximum(plain.coefficient, point.coefficient * turned)
    return Film(h, plain.recovery)


def _runs(body: Body) -> tuple[Array, Array]:
    """Length along the surface from the very tip, and how far r grows with it: n in r ∝ s^n."""
    step = np.hypot(np.diff(body.x), np.diff(body.radius))
    front = np.hypot(body.front_length, body.radius[0]) if body.front_length else body.radius[0]
    run = front + np.concatenate(([0.0], np.cumsum(step)))
    sine = body.slope / np.hypot(1.0, body.slope)
    return run, np.clip(sine * run / np.maximum(body.radius, 1e-6), 0.0, 1.0)


def _grid(
    job: Job, stack: Stack, assembly: Assembly, nodes: NDArray[np.int64], library: Library
) -> Grid:
    """Cells of laminate and coats at some nodes."""
    R, t = stack.mould.r[nodes], stack.wall[nodes]
    x = stack.mould.x[nodes]
    coats = np.full_like(R, THIN)
    for coat in assembly.coats:
        coats += np.where((x >= coat.start - 1e-9) & (x <= coat.stop + 1e-9), coat.thickness, 0.0)
    k, c, _ = wall_cells(stack, nodes, read_resin(job, library), library)
    paint = library.practice["flight"]
    ones = np.ones((len(nodes), COAT))
    k = np.concatenate((k, paint["coat_conductivity"].value * ones), axis=1)
    c = np.concatenate((c, paint["coat_heat"].value * ones), axis=1)
    radii = np.concatenate((graded(R, R + t, WALL)[:, :-1], graded(R + t, R + t + coats, COAT)), 1)
    return Grid(radii, k, c)
