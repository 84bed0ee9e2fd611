"""An independent judge of shells: a layered body of revolution in solid elements, in harmonics.

Nine-noded quadrilaterals in (r, x), fully integrated; displacements (radial, axial, around) with
cos nφ, cos nφ, sin nφ. One row of cells per ply; every ply is a ±θ pair with its full 3-D
stiffness, seen along the straight meridian it is laid on. Initial stress comes from the same
model without waves; all nine displacement gradients carry it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import eigsh, factorized
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, MeshQuad

from mandrelwright.physics.micromechanics import Ply

Array = NDArray[np.float64]
UR, UX, UP = range(3)
PAIRS = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))


def pair_solid(ply: Ply, angle: float, beta: float) -> Array:
    """3-D stiffness (6, 6) of a ±θ pair in (r, φ, x, φx, rx, rφ), its meridian β off the axis."""
    G23 = ply.E2 / (2.0 * (1.0 + ply.nu23))
    S = np.zeros((6, 6))  # (1 fibre, 2 in the wall, 3 through), then 23, 13, 12
    S[:3, :3] = np.diag([1.0 / ply.E1, 1.0 / ply.E2, 1.0 / ply.E2])
    S[0, 1] = S[1, 0] = S[0, 2] = S[2, 0] = -ply.nu12 / ply.E1
    S[1, 2] = S[2, 1] = -ply.nu23 / ply.E2
    S[3:, 3:] = np.diag([1.0 / G23, 1.0 / ply.G12, 1.0 / ply.G12])
    own = _as_tensor(np.asarray(np.linalg.inv(S), float))
    both = np.zeros((3, 3, 3, 3))
    meridian = np.array([np.sin(beta), 0.0, np.cos(beta)])  # in (r, φ, x)
    outwards = np.array([np.cos(beta), 0.0, -np.sin(beta)])
    for sign in (1.0, -1.0):
        along = np.cos(angle) * meridian + sign * np.sin(angle) * np.array([0.0, 1.0, 0.0])
        axes = np.stack((along, np.cross(outwards, along), outwards))
        both += 0.5 * np.einsum("ijkl,ia,jb,kc,ld->abcd", own, axes, axes, axes, axes)
    return np.array([[both[(*p, *q)] for q in PAIRS] for p in PAIRS])


def _as_tensor(C: Array) -> Array:
    tensor = np.zeros((3, 3, 3, 3))
    for a, (i, j) in enumerate(PAIRS):
        for b, (k, m) in enumerate(PAIRS):
            for p, q in {(i, j), (j, i)}:
                for s, t in {(k, m), (m, k)}:
                    tensor[p, q, s, t] = C[a, b]
    return tensor


@dataclass
class SolidShell:
    """Layers on a straight meridian: their faces z from the middle, and stiffness of each ply."""

    radius: float  # of the middle surface at the first end
    beta: float
    length: float  # along the meridian
    faces: Array
    plies: list[Array]
    columns: int

    def __post_init__(self) -> None:
        s = np.linspace(0.0, self.length, self.columns + 1)
        mesh = MeshQuad.init_tensor(self.faces, s)
        at = self.place(*mesh.p)
        element = ElementVector(ElementQuad2(), 3)
        self.basis = Basis(MeshQuad(at, mesh.t), element, intorder=5)
        z = mesh.p[0, mesh.t].mean(axis=0)
        self.row = np.searchsorted(self.faces, z) - 1
        self.local = Basis(mesh, element, intorder=5).doflocs  # (z, s) of every unknown
        self.kind = np.zeros(self.basis.N, dtype=int)
        for i, dofs in enumerate(self.basis.split_indices()):
            self.kind[dofs] = i

    def place(self, z: Array, s: Array) -> Array:
        """(r, x) of a point z off the middle surface and s along it."""
        c, n = np.cos(self.beta), np.sin(self.beta)
        return np.array([self.radius + s * n + z * c, s * c - z * n])

    def _modulus(self) -> Array:
        """(6, 6, cell, 1)."""
        return np.stack(self.plies, axis=-1)[..., self.row, None]

    def stiffness(self, n: int) -> csc_matrix:
        """K of n waves."""
        D = self._modulus()

        @BilinearForm
        def form(u, v, w):
            eu, ev = _strain(u, w, n), _strain(v, w, n)
            return w.x[0] * sum(
                D[i, j] * eu[j] * ev[i] for i in range(6) for j in range(6) if np.any(D[i, j])
            )

        return form.assemble(self.basis).tocsc()

    def initial(self, n: int, moved: Array) -> csc_matrix:
        """K_σ of n waves from the stress of displacements without waves."""
        D, field = self._modulus(), self.basis.interpolate(moved)
        w = type("At", (), {"x": self.basis.global_coordinates()})
        strain = _strain(field, w, 0)
        s = [sum(D[i, j] * strain[j] for j in range(6)) for i in range(6)]
        tensor = [[s[0], 0.0, s[4]], [0.0, s[1], 0.0], [s[4], 0.0, s[2]]]

        @BilinearForm
        def form(u, v, w):
            gu, gv = _gradient(u, w, n), _gradient(v, w, n)
            pairs = [(i, j) for i, j in ((0, 0), (1, 1), (2, 2), (0, 2), (2, 0))]
            return w.x[0] * sum(
                tensor[i][j] * gu[k][i] * gv[k][j] for k in range(3) for i, j in pairs
            )

        return form.assemble(self.basis).tocsc()

    def rim(self, last: bool) -> NDArray[np.intp]:
        """Unknowns on one end."""
        return np.nonzero(np.abs(self.local[1] - (self.length if last else 0.0)) < 1e-9)[0]

    def free(self, n: int) -> NDArray[np.intp]:
        """Unknowns left: the middle of both rims kept round, their faces not turning round.

        A face held all over would be squeezed through its thickness, and could not turn on a
        cone: no shell knows of the one, and the other is not asked.
        """
        fixed = [dof for last in (False, True) for dof in self.rim(last) if self.kind[dof] == UP]
        fixed += self.middle(UR)
        if n == 0:
            fixed += [self.middle(UX)[1], *np.nonzero(self.kind == UP)[0]]
        return np.setdiff1d(np.arange(self.basis.N), fixed)

    def middle(self, kind: int) -> list[int]:
        """The unknown of one kind in the middle of the wall, on both rims."""
        return [
            min(self.rim(last), key=lambda dof: abs(self.local[0, dof]) + (self.kind[dof] != kind))
            for last in (False, True)
        ]

    def pushed(self, line: float) -> Array:
        """Forces of an axial line load on both rims, by Simpson's rule over each ply's face."""
        f = np.zeros(self.basis.N)
        for last, sign in ((False, 1.0), (True, -1.0)):
            rim = [d for d in self.rim(last) if self.kind[d] == UX]
            z = self.local[0, rim]
            weight = np.zeros(len(rim))
            for low, high in zip(self.faces[:-1], self.faces[1:], strict=True):
                for at, share in ((low, 1 / 6), (0.5 * (low + high), 4 / 6), (high, 1 / 6)):
                    weight[np.argmin(np.abs(z - at))] += share * (high - low)
            radius = self.radius + (self.length * np.sin(self.beta) if last else 0.0)
            f[rim] += sign * line * radius * weight / (self.faces[-1] - self.faces[0])
        return f

    def lowest(self, line: float, waves: list[int]) -> list[float]:
        """Factor of the axial line load (at the first rim) that buckles it, per n.

        The last rim bears the same total force.
        """
        moved = self.loaded(line)
        factors = []
        for n in waves:
            free = self.free(n)
            K, G = self.stiffness(n)[free][:, free], self.initial(n, moved)[free][:, free]
            solved = eigsh(-G, k=1, M=K, which="LA", return_eigenvectors=False, tol=1e-6)
            factors.append(float(1.0 / solved[0]))
        return factors

    def on_face(self, z: float) -> tuple[Array, Array, CubicSpline]:
        """Along a face of a cylinder under a line load of one: s, u_s and the spline of u_r."""
        moved = self.loaded(1.0)
        lines = []
        for kind in (UX, UR):
            dofs = np.nonzero((self.kind == kind) & (np.abs(self.local[0] - z) < 1e-9))[0]
            dofs = dofs[np.argsort(self.local[1, dofs])]
            lines.append((self.local[1, dofs], moved[dofs]))
        (s, along), (t, aside) = lines
        return s, along, CubicSpline(t, aside)

    def loaded(self, line: float) -> Array:
        """Displacements under the load, before buckling."""
        f = self.pushed(line)
        rest = np.array([dof for dof in self.rim(True) if self.kind[dof] == UX])
        f[rest] *= -f[np.setdiff1d(np.nonzero(f)[0], rest)].sum() / f[rest].sum()
        free = self.free(0)
        moved = np.zeros(self.basis.N)
        moved[free] = factorized(self.stiffness(0)[free][:, free])(f[free])
        return moved


def _gradient(u, w, n):
    """Displacement gradient (component, direction) in (r, φ, x); cos and sin taken out."""
    r = w.x[0]
    g = u.grad
    return [
        [g[0, 0], -(n * u[UR] + u[UP]) / r, g[0, 1]],
        [g[2, 0], (n * u[UP] + u[UR]) / r, g[2, 1]],
        [g[1, 0], -n * u[UX] / r, g[1, 1]],
    ]


def _strain(u, w, n):
    g = _gradient(u, w, n)
    return [g[0][0], g[1][1], g[2][2], g[1][2] + g[2][1], g[0][2] + g[2][0], g[0][1] + g[1][0]]
