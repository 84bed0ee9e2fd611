"""Cure of 24 places over 48 h against scipy's LSODA (banded) and BDF, side by side at equal error.

All solvers integrate the same cells and resin; scipy gets all places as one banded system, which
suits it best, and also place by place. Error: largest |T| difference over places, cells and 12
times, to LSODA at 1e-10. On a thick fast laminate the comparison is of peak, gel and end.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.physics.kinetics import ICE_POINT, Glass, Kinetics, crossing
from mandrelwright.physics.reaction import Ambient, Source, stepped

Array = NDArray[np.float64]

PLACES, MOULD, WALL = 24, 12, 5
HOURS = 3600.0
GEL = 0.577
TOLERANCES = 10.0 ** -np.arange(0.0, 7.01, 0.5)


class Case(NamedTuple):
    """One laminate: thickness (m), resin, stays, error asked for (K)."""

    name: str
    thick: float
    resin: Kinetics
    stays: tuple[Ambient, ...]
    target: float


def resin(k2: float) -> Kinetics:
    """The generic resin at another rate."""
    glass = Glass(228.15, 368.15, 0.4)
    return Kinetics(0.05 * k2, k2, 60e3, 52e3, 1.0, 1.5, glass, 3.0, 4.0)


SHOP = Ambient(24.0 * HOURS, 295.15, 8.0)
THIN = Case("thin", 2e-3, resin(3e-4), (SHOP, Ambient(24.0 * HOURS, 323.15, 20.0)), 2e-3)
THICK = Case("thick and fast", 10e-3, resin(3e-3), (SHOP, SHOP), 0.0)


def rings(thick: float) -> tuple[Grid, Array]:
    """Solid plastic moulds of 30 to 100 mm with a wall on them; heat of cure (J/m³)."""
    R = np.linspace(0.015, 0.05, PLACES)
    radii = np.concatenate((graded(0.0, R, MOULD, 0.2), graded(R, R + thick, WALL)[:, 1:]), axis=1)
    shape = (PLACES, MOULD + WALL)
    k, c = np.full(shape, 0.18), np.full(shape, 1.5e6)
    k[:, MOULD:], c[:, MOULD:] = 0.35, 1.9e6
    return Grid(radii, k, c), np.full((PLACES, WALL), 1150.0 * 0.58 * 430e3)


class System:
    """dT/dt and dα/dt of some places for scipy: mould cells, then (T, α) pairs, place by place."""

    def __init__(self, case: Case, places: slice) -> None:
        grid, heat = rings(case.thick)
        self.grid = Grid(*(value[places] for value in vars(grid).values()))
        self.heat, self.case = heat[places] * self.grid.area[:, MOULD:], case
        self.between, self.capacity = self.grid.conductances, self.grid.capacity
        self.width = MOULD + 2 * WALL

    def split(self, y: Array) -> tuple[Array, Array]:
        """T (place, cell) and α (place, wall cell)."""
        rows = y.reshape(-1, self.width)
        return np.concatenate((rows[:, :MOULD], rows[:, MOULD::2]), axis=1), rows[:, MOULD + 1 :: 2]

    def start(self) -> Array:
        """Everything at 22 °C, nothing cured."""
        rows = np.full((len(self.grid.radii), self.width), 295.15)
        rows[:, MOULD + 1 :: 2] = 0.0
        return rows.ravel()

    def run(self, method: str, tolerance: float, at: Array) -> tuple[Array, Array]:
        """T and α at times ``at`` (time, place, cell)."""
        y, clock, out = self.start(), 0.0, []
        for stay in self.case.stays:
            rhs = self.rhs(stay)
            inside = at[(at > clock) & (at <= clock + stay.lasts)] - clock
            bands = {"lband": 2, "uband": 2} if method == "LSODA" else {"jac_sparsity": self.band()}
            solved = solve_ivp(
                rhs, (0.0, stay.lasts), y, method, t_eval=np.union1d(inside, stay.lasts),
                rtol=tolerance / 300.0, atol=self.weights(tolerance), **bands,
            )  # fmt: skip
            out += [self.split(column) for column in solved.y.T[: len(inside)]]
            y, clock = solved.y[:, -1], clock + stay.lasts
        return np.array([T for T, _ in out]), np.array([a for _, a in out])

    def weights(self, tolerance: float) -> Array:
        """Absolute tolerances: kelvin, and a 250th of it for α."""
        rows = np.full((len(self.grid.radii), self.width), tolerance)
        rows[:, MOULD + 1 :: 2] /= 250.0
        return rows.ravel()

    def band(self) -> Array:
        """Where the Jacobian is not zero."""
        size = len(self.grid.radii) * self.width
        return np.asarray(sum(np.eye(size, k=k) for k in range(-2, 3)))

    def rhs(self, stay: Ambient) -> Callable[[float, Array], Array]:
        """Right-hand side during one stay."""
        outer, _ = self.grid.surface_conductances(stay.film, 0.0)

        def f(_: float, y: Array) -> Array:
            T, a = self.split(y)
            flow = self.between * np.diff(T, axis=1)
            gained = np.zeros_like(T)
            gained[:, :-1] += flow
            gained[:, 1:] -= flow
            gained[:, -1] += outer * (np.asarray(stay.outside) - T[:, -1])
            r = self.case.resin.rate(T[:, MOULD:], a)
            gained[:, MOULD:] += self.heat * r
            gained /= self.capacity
            out = np.empty((len(T), self.width))
            out[:, :MOULD], out[:, MOULD::2], out[:, MOULD + 1 :: 2] = (
                gained[:, :MOULD], gained[:, MOULD:], r,
            )  # fmt: skip
            return out.ravel()

        return f


def ours(case: Case, tolerance: float, at: Array) -> tuple[Array, Array]:
    """T and α at the times, which end stays so that no interpolation adds to the error."""
    grid, heat = rings(case.thick)
    source = Source(case.resin, heat, MOULD, MOULD + WALL)
    stays, clock = [], 0.0
    for stay in case.stays:
        inside = at[(at > clock) & (at <= clock + stay.lasts)]
        cuts = np.diff(np.concatenate(([clock], inside)))
        stays += [stay._replace(lasts=float(cut)) for cut in cuts]
        clock += stay.lasts
    history = stepped(grid, stays, 295.15, source, tolerance=tolerance)
    rows = np.searchsorted(history.times, at - 1e-6)
    return history.temperature[rows], history.state[rows]


def whole(case: Case, method: str, tolerance: float, at: Array) -> tuple[Array, Array]:
    """All places as one system."""
    return System(case, slice(None)).run(method, tolerance, at)


def one_by_one(case: Case, method: str, tolerance: float, at: Array) -> tuple[Array, Array]:
    """Each place on its own."""
    runs = [System(case, slice(p, p + 1)).run(method, tolerance, at) for p in range(PLACES)]
    return np.concatenate([T for T, _ in runs], 1), np.concatenate([a for _, a in runs], 1)


Solver = Callable[[float], tuple[Array, Array]]


def cheapest(solver: Solver, exact: Array, target: float) -> tuple[float, float]:
    """Seconds and error of the loosest tolerance that meets the target."""
    for tolerance in TOLERANCES:
        begin = time.perf_counter()
        error = float(np.abs(solver(float(tolerance))[0] - exact).max())
        took = time.perf_counter() - begin
        if error <= target:
            return took, error
    return float("nan"), float("nan")


def thin() -> None:
    """Equal error on a thin laminate."""
    at = np.linspace(4.0, 48.0, 12) * HOURS
    exact, _ = whole(THIN, "LSODA", 1e-7, at)
    solvers: Sequence[tuple[str, Solver]] = (
        ("ours", lambda tol: ours(THIN, tol, at)),
        ("LSODA, one banded system", lambda tol: whole(THIN, "LSODA", tol, at)),
        ("LSODA, place by place", lambda tol: one_by_one(THIN, "LSODA", tol, at)),
        ("BDF, one sparse system", lambda tol: whole(THIN, "BDF", tol, at)),
    )
    base = 0.0
    for name, solver in solvers:
        took, error = cheapest(solver, exact, THIN.target)
        base = base or took
        print(f"{THIN.name}: {name} {took * 1e3:.0f} ms, error {error:.1e} K: {took / base:.1f} x")


def thick() -> None:
    """Peak, gel time and final conversion of a thick fast laminate."""
    at = np.concatenate((np.linspace(30.0, 4.0 * HOURS, 480), [24.0 * HOURS, 48.0 * HOURS]))
    rows: Sequence[tuple[str, Callable[[], tuple[Array, Array]]]] = (
        ("ours", lambda: ours(THICK, 0.02, at)),
        ("LSODA", lambda: whole(THICK, "LSODA", 1e-6, at)),
    )
    for name, solver in rows:
        T, a = solver()
        mean = a.mean(-1)
        gel = crossing(at, mean, np.gradient(mean, at, axis=0), GEL)
        print(
            f"{THICK.name}: {name}: peak {T.max() - ICE_POINT:.2f} °C, first gel "
            f"{gel.min() / 60.0:.2f} min, least final conversion {a[-1].min():.5f}"
        )


if __name__ == "__main__":
    thin()
    thick()
