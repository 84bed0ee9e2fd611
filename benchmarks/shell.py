"""Thirteen numbers of waves round: our elimination and Lanczos against scipy's sparse eigsh.

Same matrices, one after the other in one run, best of three. Both find the least buckling load
of every number of waves on a cylinder of R/t 33; scipy factors each of them by SuperLU.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix
from scipy.sparse.linalg import eigsh

from mandrelwright.physics import laminate, shell
from mandrelwright.physics.chain import gather, largest

Array = NDArray[np.float64]

E, NU, R, L, T = 12e9, 0.4, 0.049, 0.5, 1.5e-3
WAVES = np.arange(13)


def cylinder(elements: int) -> shell.Shell:
    """A tube as long as a nose and its skirt."""
    x = np.linspace(0.0, L, 2 * elements + 1)
    ones = np.ones(len(x))
    Q = laminate.reduced_stiffness(E, E, E / (2.0 * (1.0 + NU)), NU)
    ABD = laminate.assemble(Q[None], np.array([-0.5 * T, 0.5 * T]))
    A, B, D = (item * ones[:, None, None] for item in ABD)
    through = np.full((len(x), 2), 5.0 / 6.0 * E / (2.0 * (1.0 + NU)) * T)
    return shell.make_shell((x, R * ones), (A, B, D), through, T * ones)


def best(run: Callable[[], Array]) -> tuple[float, Array]:
    """Seconds of the fastest of three runs, and what it gave."""
    times = []
    for _ in range(3):
        start = time.perf_counter()
        given = run()
        times.append(time.perf_counter() - start)
    return min(times), given


def sparse(element: Array, held: NDArray[np.bool_]) -> list[csc_matrix]:
    """The matrices of the elements as one of each number of waves, held unknowns left out."""
    nodes = held.shape[1]
    number = gather(np.arange(5.0 * nodes).reshape(1, nodes, 5))[0].astype(int)
    rows, columns = np.broadcast_arrays(number[:, :, None], number[:, None, :])
    out = []
    for one, fixed in zip(element, held, strict=True):
        whole = coo_matrix((one.ravel(), (rows.ravel(), columns.ravel()))).tocsc()
        free = np.nonzero(~fixed.ravel())[0]
        out.append(whole[free][:, free])
    return out


def main() -> None:
    """Print both times and the largest difference."""
    print("elements | ours, all of it | ours, eigenvalues | scipy eigsh | largest difference")
    for elements in (40, 80, 160):
        tube = cylinder(elements)
        nil = np.zeros_like(tube.r)
        stress = shell.Resultants(nil - 1.0, nil, nil, nil, nil)
        ends = (shell.ROUND, shell.ROUND)
        whole, _ = best(lambda: shell.buckle(tube, stress, ends, WAVES).factor)  # noqa: B023
        rows = shell._strain_rows(tube, WAVES)
        K, held = shell._stiffness(tube, rows, WAVES, ends)
        M = -shell._initial_stress(tube, rows, WAVES, stress) * shell._keep(held)
        ours, mu = best(lambda: largest(K, M, ~held)[0])  # noqa: B023
        pairs = list(zip(sparse(K, held), sparse(M, held), strict=True))
        theirs, other = best(
            lambda: np.array([
                eigsh(m, k=1, M=k, sigma=None, which="LA", return_eigenvectors=False, tol=1e-4)[0]
                for k, m in pairs  # noqa: B023
            ])
        )  # fmt: skip
        apart = np.abs(mu / other - 1.0).max()
        print(f"{elements} | {whole:.3f} s | {ours:.3f} s | {theirs:.3f} s | {apart:.1e}")


if __name__ == "__main__":
    main()
