"""Ratios, side by side in one run: plan against point by point, Monte Carlo against its random
numbers, a cold check against a cold import of scientific libraries."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median
from timeit import repeat

import numpy as np

from mandrelwright.job.read import library_of, read_job
from mandrelwright.job.spec import Job
from mandrelwright.physics import laminate, micromechanics
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.wall import assess_wall, read_constituents

JOB = Path(__file__).resolve().parent.parent / "examples" / "plover-nose.toml"
DRAWS = 1_000_000
IMPORTS = "import numpy, scipy.linalg, scipy.optimize, scipy.integrate"


def seconds(run: Callable[[], object], times: int) -> float:
    """Median wall time of a few runs after one that does not count."""
    return median(repeat(run, number=1, repeat=times + 1)[1:])


def point_by_point(plan: Plan) -> None:
    """Stack and wall of the plan, the same functions called for one place and layer at a time."""
    stack = plan.stack
    parts = read_constituents(plan.job, stack.layers, plan.library)
    ply = micromechanics.ply(
        parts.fibre, parts.resin, stack.fibre_fraction, parts.across_poisson, parts.crimp
    )
    tangent = stack.meridian.tangent(stack.mould)
    for place in range(len(stack.mould.x)):
        radius, cosine = stack.mould.r[place : place + 1], tangent.cosine[place : place + 1]
        for number, layer in enumerate(stack.layers):
            t = layer.over(radius, cosine, stack.share[number, place : place + 1])
            theta = layer.textile.laid_angle(radius + 0.5 * t * cosine)[0]
            stiffness = laminate.pair_stiffness(ply, theta)
            free = laminate.pair_free_strain(ply, theta, ply.alpha1, ply.alpha2)
            laminate.assemble(stiffness[None], np.array([0.0, max(t[0], 1e-6)]))
            radius = radius + t * cosine
            assert free.shape[-1] == 3


def at_once(plan: Plan) -> None:
    """The same stack and wall over all places."""
    from mandrelwright.stages.surfaces import build

    stack = plan.stack
    parts = read_constituents(plan.job, stack.layers, plan.library)
    build(stack.meridian, stack.mould, list(stack.layers))
    assess_wall(parts, stack.fibre_fraction, stack.angle, stack.thickness, stack.jammed)


def random_numbers(plan: Plan) -> None:
    """The random numbers of the Monte Carlo alone, in the same chunks."""
    from mandrelwright.stages.chain import CHUNK

    generator = np.random.default_rng(1)
    for _ in range(0, DRAWS, CHUNK):
        generator.standard_normal((len(plan.fit.chain.mean), CHUNK))


def monte_carlo(plan: Plan) -> None:
    """The whole fit of the leading station, from random numbers to play."""
    plan.fit.chain.sample(plan.fit.chain.lead, plan.fit.file_diameter, DRAWS, 1)


def six_layers() -> Job:
    """The nose example with one more of its big sleeves: two small and four big."""
    job = read_job(JOB)
    *inner, outer = job.layers
    return job.model_copy(update={"layers": (*inner, outer.model_copy(update={"repeat": 4}))})


def main() -> None:
    """Print each pair and its ratio."""
    job = six_layers()
    library = library_of(job)
    plan = make_plan(job, library)
    warm = seconds(lambda: make_plan(job, library), 9)
    whole, single = seconds(lambda: at_once(plan), 9), seconds(lambda: point_by_point(plan), 1)
    layers, places = plan.stack.thickness.shape
    print(f"plan, {layers} layers x {places} places, warm: {warm * 1e3:.0f} ms")
    print(f"stack and wall at once {whole * 1e3:.1f} ms, point by point {single * 1e3:.0f} ms: "
          f"{single / whole:.0f} x")  # fmt: skip
    drawn = seconds(lambda: random_numbers(plan), 3)
    sampled = seconds(lambda: monte_carlo(plan), 3)
    ratio = sampled / drawn
    print(f"fit Monte Carlo {sampled:.2f} s, its random numbers {drawn:.2f} s: {ratio:.2f} x")
    check = [sys.executable, "-m", "mandrelwright", "check", str(JOB)]
    bare = [sys.executable, "-c", IMPORTS]
    cold = [seconds(partial(subprocess.run, command, capture_output=True, check=False), 7)
            for command in (check, bare)]  # fmt: skip
    print(f"cold check {cold[0]:.2f} s, cold imports {cold[1]:.2f} s: {cold[0] / cold[1]:.2f} x")


if __name__ == "__main__":
    main()
