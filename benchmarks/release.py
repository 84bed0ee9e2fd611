"""A four-step release at 24 places, side by side with scipy's LSODA and BDF at equal error.

All solve the same cells. The judge is a finer run of BDF; each rival's tolerance is loosened
until its error is the same as, or larger than, the one named.
"""

from __future__ import annotations

from functools import partial
from pathlib import Path
from statistics import median
from timeit import repeat

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import make_plan
from mandrelwright.stages.cells import cells_at
from mandrelwright.stages.cooling import Follower, Step
from mandrelwright.stages.resin import read_resin
from mandrelwright.stages.seat import pick_places
from mandrelwright.stages.sequences import FREEZER
from mandrelwright.stages.states import FILMS

Array = NDArray[np.float64]

JOB = Path(__file__).resolve().parent.parent / "examples" / "plover-nose.toml"
SHOP = 295.15
STEPS = (
    Step(4.0 * 3600.0, FREEZER, "freezer"),
    Step(600.0, SHOP, "air"),
    Step(2.0 * 3600.0, FREEZER, "freezer"),
    Step(1800.0, SHOP, "air"),
)
ERRORS = (5e-4, 5e-2)  # K


def rival(follower: Follower, method: str, tolerance: float) -> Array:
    """Temperature (place, cell) at the end of the steps, place by place, banded Jacobian."""
    grid = follower.cells.on
    state = np.full(grid.capacity.shape, SHOP)
    for step in STEPS:
        films = (follower.films[key].value for key in (FILMS[step.medium], "enclosed_air"))
        outer, inner = grid.surface_conductances(*films)
        for place in range(len(state)):
            C, G = grid.capacity[place], grid.conductances[place]
            leaves = np.concatenate(([inner[place]], G)) + np.concatenate((G, [outer[place]]))
            matrix = np.diag(-leaves) + np.diag(G, 1) + np.diag(G, -1)
            matrix /= C[:, None]
            push = np.zeros(len(C))
            push[0] += inner[place] * step.temperature / C[0]
            push[-1] += outer[place] * step.temperature / C[-1]
            options: dict[str, object] = {"jac": matrix}
            if method == "LSODA":
                options = {"lband": 1, "uband": 1}
            out = solve_ivp(
                lambda _, T, A=matrix, b=push: A @ T + b, (0.0, step.lasts), state[place],
                method, rtol=tolerance, atol=100.0 * tolerance, t_eval=[step.lasts], **options,
            )  # fmt: skip
            state[place] = out.y[:, -1]
    return state


def main() -> None:
    """Print each rival at each error and its ratio."""
    job = read_job(JOB)
    library = library_of(job)
    stack = make_plan(job, library).stack
    nodes = pick_places(stack, 24)
    cells = cells_at(job, stack, nodes, 0, read_resin(job, library), library)

    def ours() -> Follower:
        follower = Follower(cells, True, library)
        follower.follow(SHOP, STEPS)
        return follower

    follower = ours()
    taken = median(repeat(ours, number=1, repeat=6)[1:])
    exact = rival(follower, "BDF", 1e-11)
    own = follower.end(SHOP, STEPS)
    print(f"{len(nodes)} places, {exact.shape[1]} cells, four steps: modes {taken * 1e3:.1f} ms, "
          f"error {np.abs(own - exact).max():.1e} K")  # fmt: skip
    for error in ERRORS:
        for method in ("LSODA", "BDF"):
            for tolerance in np.geomspace(1e-4, 1e-10, 13):
                found = np.abs(rival(follower, method, float(tolerance)) - exact).max()
                if found <= error:
                    break
            spent = repeat(partial(rival, follower, method, float(tolerance)), number=1)[-1]
            print(f"at {error:g} K: {method} {spent * 1e3:.0f} ms (error {found:.1e} K), "
                  f"{spent / taken:.0f} x")  # fmt: skip


if __name__ == "__main__":
    main()
