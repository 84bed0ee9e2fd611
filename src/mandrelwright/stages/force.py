"""How hard a part grips, and the force on one of its ends that starts it."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import contact, membrane
from mandrelwright.stages.chain import Input
from mandrelwright.stages.cooling import Moments
from mandrelwright.stages.judge import Case
from mandrelwright.stages.seat import CHAIN, heat_at

Array = NDArray[np.float64]

TOUCH, LEAST = 1e-9, 1e-3  # m, N: less is rounding
FINE = 121  # nodes of the membrane
TURN = CHAIN.index("braid angle")


def grip_at(
    case: Case, moments: Moments, number: int, turned: float = 0.0
) -> tuple[Array, Array, Array, contact.Shell]:
    """Mismatch on radius, in hoop and axial strain, and the wall; tows ``turned`` from the mean."""
    seats, rows = case.seats, case.mean[None].copy()
    rows[0, TURN] += turned
    wall = seats.wall(rows)
    mould, axial, hoop, radial = (
        strain[0] for strain in seats.strains(rows, wall, heat_at(moments, number))
    )
    shell = seats.shell(wall[0])
    delta = contact.mismatch(seats.r, shell.thickness * seats.cosine, mould, hoop, radial)
    return delta, mould - hoop, mould - axial, shell


def pressures(case: Case, moments: Moments, number: int) -> tuple[Array, Array, Array]:
    """Pressure if it may slide, if it may not, and then the axial force (place,), at the means."""
    seats = case.seats
    delta, hoop, axial, shell = grip_at(case, moments, number)
    sliding = contact.sliding_pressure(delta, seats.r, shell, seats.core)
    return sliding, *contact.stuck(hoop, axial, seats.r, shell, seats.core)


def forces(
    case: Case, moments: Moments, number: int, friction: Input
) -> tuple[float, float, float]:
    """Push with its spread (from friction and the braid's angle) and pull, N."""
    mu, turn = friction.mean, float(np.sqrt(case.covariance[TURN, TURN]))
    straight, turned = (grip_at(case, moments, number, by) for by in (0.0, turn))
    push = _force(case, straight, mu, "base")
    apart = (
        _force(case, straight, mu + friction.spread, "base") - push,
        _force(case, turned, mu, "base") - push,
    )
    return push, float(np.hypot(*apart)), _force(case, straight, mu, "tip")


def _force(
    case: Case,
    grip: tuple[Array, Array, Array, contact.Shell],
    friction: float,
    held: Literal["tip", "base"],
) -> float:
    """Force on one end that starts the part, N; the mould carries nothing along."""
    seats, (delta, _, axial, shell) = case.seats, grip
    if np.all(delta <= TOUCH):
        return 0.0
    x = np.linspace(seats.x[0], seats.x[-1], FINE)

    def fine(value: Array) -> Array:
        return np.asarray(np.interp(x, seats.x, value))

    rigid = replace(seats.core, axial=np.zeros_like(x))
    seat = membrane.Seat(
        x,
        fine(seats.r),
        fine(seats.sine),
        fine(seats.cosine),
        contact.Shell(*(fine(value) for value in vars(shell).values())),
        contact.Core(fine(rigid.compliance), rigid.axial, fine(rigid.poisson), fine(rigid.filling)),
    )
    force = membrane.grip(seat, fine(delta), fine(axial), friction, held).force
    return force if force > LEAST else 0.0


def friction_input(job: Job, library: Library) -> Input:
    """Friction of the released interface."""
    datum = library.releases[job.release.system]["friction"]
    uses = (f"materials.{datum.path}",)
    return Input("friction", datum.value, datum.spread, "", datum.basis, datum.source, uses)
