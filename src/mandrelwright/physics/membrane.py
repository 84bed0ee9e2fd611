"""A part that grips, as a membrane along its meridian on an elastic core, with friction.

Pressure of contact does not belong to one place: off a slope it pushes the part along, and what
friction holds is carried to the next place. Unknown is the displacement u along the meridian,
against the mould, counted baseward; from it follow N_s, N_θ and p at every node:

    c p = δ + u sin β − (r_m S_sθ − r ν a) N_s,   N_θ = p r/cos β,   p not below nil
    u' = (S_ss + a) N_s + S_sθ N_θ − r ν a p − e_s
    (r_m N_s)' = N_θ sin β − μ r p        (the part moves tipwards, friction holds it back)

a is the core's axial give (nil: a rigid mould, or one that carries nothing along). Finite
volumes; the set of nodes in contact is found by repetition. Symbols as in physics/contact.py;
the meridian's own curvature is left out.
Source: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., chapter 14, from
memory; the contact is derived.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics.contact import Core, Shell, bore_give

Array = NDArray[np.float64]

ROUNDS = 40  # of the contact set; it settles in a few


@dataclass(frozen=True)
class Seat:
    """A meridian from tip to base: x, r (node,), m, its slope, wall and core at every node."""

    x: Array
    r: Array
    sine: Array
    cosine: Array
    shell: Shell
    core: Core


class Grip(NamedTuple):
    """Pressure (Pa), N_s (N/m), displacement u (m) at every node, and the holding force (N).

    force: what the held end must be given along x, positive tipwards.
    """

    pressure: Array
    along: Array
    moved: Array
    force: float


def grip(
    seat: Seat,
    mismatched: Array,
    axial: Array,
    friction: float,
    held: Literal["tip", "base"],
) -> Grip:
    """Equilibrium of a part held at one end, free at the other, sliding tipwards with friction.

    mismatched δ on radius (node,), m; axial e_s (node,): free strain of the mould minus that of
    the part. Held at the tip it is pulled, at the base pushed. friction 0 slides freely.
    """
    touching = np.asarray(mismatched > 0.0)
    solved = _solved(seat, mismatched, axial, friction, held, touching)
    for _ in range(ROUNDS):
        again = np.where(touching, solved.pressure > 0.0, _wanted(seat, mismatched, solved) > 0.0)
        if np.array_equal(again, touching):
            break
        touching = again
        solved = _solved(seat, mismatched, axial, friction, held, touching)
    return solved


def _wanted(seat: Seat, mismatched: Array, found: Grip) -> Array:
    """Overlap of mould and part at every node were there no pressure, m."""
    along = _narrowing(seat) * found.along
    return np.asarray(mismatched + found.moved * seat.sine - along)


def _narrowing(seat: Seat) -> Array:
    """Bore minus mould on radius per N_s, from Poisson's contraction of both, m²/N."""
    core = seat.r * seat.core.poisson * seat.core.axial
    return np.asarray(_middle(seat) * seat.shell.S_xh - core * seat.cosine**2)


def _middle(seat: Seat) -> Array:
    """Radius r_m of the middle of the wall, m."""
    return np.asarray(seat.r + 0.5 * seat.shell.thickness * seat.cosine)


def _solved(
    seat: Seat,
    mismatched: Array,
    axial: Array,
    friction: float,
    held: Literal["tip", "base"],
    touching: NDArray[np.bool_],
) -> Grip:
    """One linear solution with the contact set given."""
    S, r, sine, cosine = seat.shell, seat.r, seat.sine, seat.cosine
    count = len(r)
    narrows, middle = _narrowing(seat), _middle(seat)
    give = bore_give(r, cosine, S) + cosine**2 * r * seat.core.compliance
    press = np.where(touching, 1.0 / give, 0.0)
    ring = r * (S.S_xh / cosine - seat.core.poisson * seat.core.axial) * press
    stiff = 1.0 / (S.S_xx + seat.core.axial - ring * narrows)
    step = np.hypot(np.diff(seat.x), np.diff(r))
    half = [_between(value) for value in (middle, stiff, ring * sine, ring * mismatched - axial)]
    # r_m N at mid nodes = rows @ u + constant
    rows, at = np.zeros((count - 1, count)), np.arange(count - 1)
    rK = half[0] * half[1]
    rows[at, at] = rK * (-1.0 / step - 0.5 * half[2])
    rows[at, at + 1] = rK * (1.0 / step - 0.5 * half[2])
    constant = -rK * half[3]
    # the same at nodes, free ends nil, the held end carried on in a straight line
    mean = np.zeros((count, count - 1))
    mean[at[1:], at[1:]] = mean[at[1:], at[1:] - 1] = 0.5
    end, near = (0, (0, 1)) if held == "tip" else (count - 1, (count - 2, count - 3))
    mean[end, near[0]], mean[end, near[1]] = 1.5, -0.5
    drive = r / cosine * sine - friction * r  # (r_m N)' per pressure
    carried = narrows / middle
    by_u = press[:, None] * (np.diag(sine) - carried[:, None] * (mean @ rows))
    by_one = press * (mismatched - carried * (mean @ constant))
    lengths = np.zeros(count)
    lengths[:-1] += 0.5 * step
    lengths[1:] += 0.5 * step
    matrix = -(lengths * drive)[:, None] * by_u
    right = lengths * drive * by_one
    matrix[1:] -= rows
    matrix[:-1] += rows
    right[1:] += constant
    right[:-1] -= constant
    unheld = np.arange(count) != end
    u = np.zeros(count)
    u[unheld] = np.linalg.solve(matrix[np.ix_(unheld, unheld)], right[unheld])
    through = rows @ u + constant
    pressure = by_u @ u + by_one
    missing = float(matrix[end] @ u - right[end])  # r_m N that the held end must bring, tipwards
    force = 2.0 * np.pi * float(cosine[end]) * missing
    return Grip(pressure, mean @ through / middle, u, force)


def _between(value: Array) -> Array:
    return np.asarray(0.5 * (value[1:] + value[:-1]))
