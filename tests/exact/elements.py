"""An independent judge of contact: axisymmetric finite elements of a mould and its laminate.

Nine-noded quadrilaterals on two structured meshes whose nodes meet on the surface between them.
There the parts are bonded (both displacements shared), slide (only the normal one shared) or are
free. Free strains are given point by point, so any temperature of the mould goes in. The axial
condition: each body's face at the base end is held axially and free radially; bonded, the mould's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csr_matrix
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, LinearForm, MeshQuad, bmat

Array = NDArray[np.float64]
# free strain (radial, hoop, axial) at (r, x), in the axes of the body
Strain = Callable[[Array, Array], tuple[Array, Array, Array]]
Contact = Literal["bonded", "sliding", "free"]


@dataclass(frozen=True)
class Solid:
    """An orthotropic body of revolution: stiffness (4, 4) in (radial, hoop, axial, shear)."""

    stiffness: Array
    free: Strain
    inner: Callable[[Array], Array]
    outer: Callable[[Array], Array]
    cells: int
    square: bool = False  # cells square to the surface rather than along the radius
    filling: Array | None = None  # stiffness nearer to the axis than ``filled``
    filled: float = 0.0

    def modulus(self, i: int, j: int, r: Array) -> Array:
        """One term of the stiffness at r."""
        if self.filling is None:
            return self.stiffness[i, j] + 0.0 * r
        return np.where(r < self.filled, self.filling[i, j], self.stiffness[i, j])


def orthotropic(E: tuple[float, ...], nu: tuple[float, ...], G: float) -> Array:
    """Stiffness from E (r, θ, x), ν (rθ, rx, θx) with ν_ij strain j per strain i, and G_rx."""
    compliance = np.diag([*(1.0 / value for value in E), 1.0 / G])
    for (i, j), ratio in zip(((0, 1), (0, 2), (1, 2)), nu, strict=True):
        compliance[i, j] = compliance[j, i] = -ratio / E[i]
    return np.linalg.inv(compliance)


def leaning(slope: float) -> Array:
    """Strain (radial, hoop, axial, shear) seen in axes turned to the normal and the meridian."""
    angle = np.arctan(slope)
    c, s = np.cos(angle), np.sin(angle)
    return np.array(
        [
            [c * c, 0.0, s * s, -s * c],
            [0.0, 1.0, 0.0, 0.0],
            [s * s, 0.0, c * c, s * c],
            [2.0 * s * c, 0.0, -2.0 * s * c, c * c - s * s],
        ]
    )


def isotropic(E: float, nu: float) -> Array:
    """The same of a plastic."""
    return orthotropic((E, E, E), (nu, nu, nu), E / (2.0 * (1.0 + nu)))


class Model:
    """Mould and laminate over x from ``start`` to ``stop``, solved for one kind of contact."""

    def __init__(
        self, mould: Solid, wall: Solid, start: float, stop: float, columns: int, slope: float = 0.0
    ) -> None:
        self.bodies = (mould, wall)
        self.x = np.linspace(start, stop, columns + 1)
        self.slope = slope
        self.columns = columns
        self.bases = [self._basis(body) for body in self.bodies]

    def _basis(self, body: Solid) -> Basis:
        mesh = MeshQuad.init_tensor(np.linspace(0.0, 1.0, body.cells + 1), self.x)
        share, x = mesh.p
        inner, outer = body.inner(x), body.outer(x)
        points = np.array([inner + share * (outer - inner), x])
        if body.square:  # step out along the normal of a straight surface, outer − inner far
            out = share * (outer - inner) / np.hypot(1.0, self.slope)
            points = np.array([inner + out, x - out * self.slope])
        self.column_of = np.searchsorted(self.x, mesh.p[1, mesh.t].mean(axis=0)) - 1
        return Basis(MeshQuad(points, mesh.t), ElementVector(ElementQuad2()), intorder=4)

    def _system(self, body: Solid, basis: Basis) -> tuple[csr_matrix, Array]:
        D = body.modulus
        turn = leaning(self.slope if body.square else 0.0)

        def strains(u, w):  # as the body's own axes see them
            seen = u.grad[0, 0], u[0] / w.x[0], u.grad[1, 1], u.grad[0, 1] + u.grad[1, 0]
            return [sum(turn[i, j] * seen[j] for j in range(4) if turn[i, j]) for i in range(4)]

        @BilinearForm
        def stiffness(u, v, w):
            eu, ev, r = strains(u, w), strains(v, w), w.x[0]
            pairs = [(i, j) for i in range(4) for j in range(4) if (i < 3) == (j < 3)]
            return 2.0 * np.pi * r * sum(D(i, j, r) * eu[j] * ev[i] for i, j in pairs)

        @LinearForm
        def load(v, w):
            ev, r, free = strains(v, w), w.x[0], body.free(*w.x)
            pairs = [(i, j) for i in range(3) for j in range(3)]
            return 2.0 * np.pi * r * sum(D(i, j, r) * free[j] * ev[i] for i, j in pairs)

        return stiffness.assemble(basis), load.assemble(basis)

    def _line(self, which: int, side: float) -> tuple[Array, Array]:
        """Radial and axial unknowns on the inner (0) or outer (1) side of a body, by x."""
        basis, body = self.bases[which], self.bodies[which]
        at = basis.doflocs
        edge = (body.inner if side == 0 else body.outer)(at[1])
        radial = basis.split_indices()[0]
        on = radial[np.abs(at[0, radial] - edge[radial]) < 1e-9]
        on = on[np.argsort(at[1, on])]
        assert len(on) == 2 * self.columns + 1
        axial = np.array([self._partner(basis, dof) for dof in on])
        return on, axial

    def _base(self, which: int) -> Array:
        """Axial unknowns on the face at the base end; a cell square to a slope leans."""
        basis, body = self.bases[which], self.bodies[which]
        axial = basis.split_indices()[1]
        r, x = basis.doflocs[:, axial]
        lean = self.slope * (r - body.inner(x)) / (1.0 + self.slope**2) if body.square else 0.0
        return np.asarray(axial[np.abs(x + lean - self.x[-1]) < 1e-9])

    def _partner(self, basis: Basis, dof: int) -> int:
        """The axial unknown at the same point."""
        for kind in (basis.nodal_dofs, basis.facet_dofs, basis.interior_dofs):
            row, column = np.nonzero(kind == dof)
            if len(row):
                return int(kind[row[0] + 1, column[0]])
        raise AssertionError

    def solve(self, contact: Contact) -> Solved:
        """Displacements with the bodies joined as told."""
        systems = [
            self._system(body, basis) for body, basis in zip(self.bodies, self.bases, strict=True)
        ]
        K = bmat([[systems[0][0], None], [None, systems[1][0]]], "csr")
        f = np.concatenate([system[1] for system in systems])
        shift = systems[0][0].shape[0]
        master, slave = self._line(0, 1), tuple(line + shift for line in self._line(1, 0))
        T, kept = self._joined(len(f), master, slave, contact)
        fixed = [*self._base(0), *(self._base(1) + shift if contact != "bonded" else [])]
        on_axis = [
            dof for dof in self.bases[0].split_indices()[0]
            if self.bases[0].doflocs[0, dof] < 1e-12
        ]  # fmt: skip
        held = np.isin(kept, [*fixed, *on_axis])
        reduced, right = (T.T @ K @ T).tocsr(), T.T @ f
        u = np.zeros(reduced.shape[0])
        u[~held] = spsolve(reduced[~held][:, ~held], right[~held])
        whole = T @ u
        return Solved(self, whole[:shift], whole[shift:], master, tuple(s - shift for s in slave))

    def _joined(
        self, count: int, master: tuple[Array, ...], slave: tuple[Array, ...], contact: Contact
    ) -> tuple[csr_matrix, Array]:
        """Full unknowns from the kept ones: u = T u_kept."""
        tied = {"bonded": [*slave[0], *slave[1]], "sliding": [*slave[0]], "free": []}[contact]
        kept = np.setdiff1d(np.arange(count), tied)
        column = {dof: i for i, dof in enumerate(kept)}
        rows, columns, values = list(kept), list(range(len(kept))), [1.0] * len(kept)
        tie = {
            "bonded": lambda i: [(slave[k][i], master[k][i], 1.0) for k in (0, 1)],
            "sliding": lambda i: [  # u_r − tan β u_x shared
                (slave[0][i], master[0][i], 1.0), (slave[0][i], master[1][i], -self.slope),
                (slave[0][i], slave[1][i], self.slope),
            ],
            "free": lambda i: [],
        }[contact]  # fmt: skip
        for i in range(len(master[0])):
            for row, source, value in tie(i):
                rows.append(row)
                columns.append(column[source])
                values.append(value)
        return coo_matrix((values, (rows, columns)), shape=(count, len(kept))).tocsr(), kept


@dataclass(frozen=True)
class Solved:
    """Displacements of both bodies, and the unknowns on the surface between them."""

    model: Model
    mould: Array
    wall: Array
    mould_line: tuple[Array, ...]
    wall_line: tuple[Array, ...]

    @property
    def x(self) -> Array:
        """Where the shared nodes stand."""
        return self.model.bases[0].doflocs[1, self.mould_line[0]]

    def gap(self) -> Array:
        """Gap square to the surface at the nodes of a straight meridian."""
        norm = np.hypot(1.0, self.model.slope)
        radial = self.wall[self.wall_line[0]] - self.mould[self.mould_line[0]]
        axial = self.wall[self.wall_line[1]] - self.mould[self.mould_line[1]]
        return (radial - self.model.slope * axial) / norm

    def pressure(self) -> tuple[Array, Array]:
        """Mid x of every column of cells and the pressure N_θ cos β/r that its hoop stress asks."""
        basis, body = self.model.bases[1], self.model.bodies[1]
        field = basis.interpolate(self.wall)
        r, x = basis.global_coordinates()
        grad = field.grad
        seen = np.array([grad[0, 0], field[0] / r, grad[1, 1], grad[0, 1] + grad[1, 0]])
        turn = leaning(self.model.slope if body.square else 0.0)
        strain = np.einsum("ij,jeq->ieq", turn, seen)[:3]
        strain -= np.array(np.broadcast_arrays(*body.free(r, x)))
        hoop = np.einsum("j,jeq->eq", body.stiffness[1, :3], strain)
        cells = (hoop * basis.dx).sum(axis=1)
        force = np.bincount(self.model.column_of, cells, self.model.columns)
        middle = 0.5 * (self.model.x[1:] + self.model.x[:-1])
        meridian = np.diff(self.model.x) * (1.0 + self.model.slope**2)  # over cos²β
        return middle, force / meridian / self.model.bodies[0].outer(middle)
