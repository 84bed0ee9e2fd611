"""Mass, balance and inertia against closed forms, and against a part cut into slices."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.job.assembly import Assembly as Stated
from mandrelwright.job.assembly import Item
from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import rigid
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.assembly import assemble
from mandrelwright.stages.weighing import FromWeight

EXAMPLES = Path(__file__).parents[2] / "examples"
Array = NDArray[np.float64]
Surface = tuple[Array, Array]
NAMES = ("plover-nose", "plover-transition", "dunlin-tube")


@pytest.fixture(scope="module", params=NAMES)
def plan(request: pytest.FixtureRequest) -> Plan:
    job = read_job(EXAMPLES / f"{request.param}.toml")
    return make_plan(job, library_of(job))


def test_a_tube_has_its_closed_form() -> None:
    x = np.linspace(0.0, 0.4, 9)
    moments = rigid.shell(x, x, np.full(9, 0.05), np.full(9, 2.5), (0.1, 0.3))
    whole = rigid.balance(moments)
    assert whole.mass == pytest.approx(0.5, rel=1e-12)
    assert whole.x == pytest.approx(0.2, rel=1e-12)
    assert whole.axial == pytest.approx(0.5 * 0.05**2, rel=1e-12)
    assert whole.transverse == pytest.approx(0.5 * (0.05**2 / 2.0 + 0.2**2 / 12.0), rel=1e-12)


def test_a_conical_shell_has_its_closed_form() -> None:
    """From memory: a thin cone balances two thirds from its tip, I_a = m R²/2."""
    height, base = 0.3, 0.1
    x = np.linspace(0.0, height, 41)
    slant = math.hypot(height, base) / height
    radius = base * x / height
    whole = rigid.balance(rigid.shell(slant * x, x, radius, 2.0 * math.pi * radius, (0.0, height)))
    mass = math.pi * base * math.hypot(height, base)
    assert whole.mass == pytest.approx(mass, rel=1e-12)
    assert whole.x == pytest.approx(2.0 / 3.0 * height, rel=1e-12)
    assert whole.axial == pytest.approx(0.5 * mass * base**2, rel=1e-6)
    across = mass * (base**2 / 4.0 + height**2 / 18.0)
    assert whole.transverse == pytest.approx(across, rel=1e-6)


def test_a_rod_and_a_disc_have_their_closed_forms() -> None:
    rod = rigid.balance(rigid.tube(3.0, 0.7, length=2.0))
    assert rod.transverse == pytest.approx(3.0 * 2.0**2 / 12.0, rel=1e-12)
    disc = rigid.balance(rigid.tube(3.0, 0.7, outer=0.2, inner=0.1))
    assert disc.axial == pytest.approx(0.5 * 3.0 * (0.2**2 + 0.1**2), rel=1e-12)
    assert disc.transverse == pytest.approx(0.5 * float(disc.axial), rel=1e-12)


def slices(plan: Plan) -> Array:
    """Moments of the part cut square to its axis into rings, by the surfaces of its layers."""
    job, stack, library = plan.job, plan.stack, plan.library
    resin = library.resins[job.resin.name]["density"].value
    voids = library.compactions[job.compaction.method]["voids"].value
    total = np.zeros(4)
    for number, layer in enumerate(stack.layers):
        fibre = library.fibres[layer.textile.fibre]["density"].value
        fraction = stack.fibre_fraction
        density = fraction * fibre + (1.0 - fraction - voids) * resin
        inner, outer = ((stack.x[i], stack.r[i]) for i in (number, number + 1))
        total += density * rings(inner, outer, plan.shape.tip, plan.shape.base)
    for coat in job.assembly.finish if job.assembly else ():
        out, depth = stack.outside, coat.per_side.value
        normal = stack.meridian.tangent(out)
        over = out.moved(normal, depth)
        stop = plan.shape.base - (coat.from_base.value if coat.from_base else 0.0)
        density = library.coatings[coat.do]["density"].value
        total += density * rings((out.x, out.r), (over.x, over.r), plan.shape.tip, stop)
    for item in job.assembly.items if job.assembly else ():
        total += loose(item, plan.shape.base)
    return total


def rings(inner: Surface, outer: Surface, start: float, stop: float) -> Array:
    """Moments per density of what lies between two surfaces, by the midpoint rule."""
    edges = np.linspace(start, stop, 40_001)
    x = 0.5 * (edges[1:] + edges[:-1])
    (a, b) = (np.interp(x, *side) for side in (inner, outer))
    dx = math.pi * (stop - start) / len(x)
    square, fourth = b**2 - a**2, b**4 - a**4
    each = (square, x * square, x**2 * square + 0.25 * fourth, 0.5 * fourth)
    return dx * np.array([np.sum(values) for values in each])


def loose(item: Item, base: float) -> Array:
    """Moments of an item, from its middle, its size and the parallel axes."""
    ends = [item.from_base.value, (item.to_base or item.from_base).value]
    x, length, mass = base - sum(ends) / 2.0, ends[1] - ends[0], item.mass.value
    outer = item.diameter.value if item.diameter else 0.0
    inner = item.bore.value if item.bore else 0.0
    axial = mass * (outer**2 + inner**2) / 8.0
    return np.array([mass, mass * x, mass * x * x + axial / 2.0 + mass * length**2 / 12.0, axial])


def test_mass_balance_and_inertia_equal_a_sum_of_slices(plan: Plan) -> None:
    """Within the thin wall (t²/4r² of the inertia) and a square cut instead of a normal one."""
    made, cut = plan.assembly, rigid.balance(slices(plan))
    assert made.mass == pytest.approx(float(cut.mass), rel=1e-3)
    assert made.balance == pytest.approx(plan.shape.base - float(cut.x), abs=0.1e-3)
    assert made.axial_inertia == pytest.approx(float(cut.axial), rel=2e-3)
    assert made.transverse_inertia == pytest.approx(float(cut.transverse), rel=2e-3)


def test_the_mass_over_length_holds_the_wall_and_its_coats(plan: Plan) -> None:
    made = plan.assembly
    line = float(np.trapezoid(made.mass_per_length, made.x))
    assert line == pytest.approx(made.laminate + made.coating, rel=4e-3)  # ends fall between places
    assert made.mass == pytest.approx(made.laminate + made.coating + made.fixed, rel=1e-12)
    assert made.laminate == pytest.approx(plan.layup.part_mass, rel=1e-5)


def test_the_spread_is_that_of_a_thousand_parts() -> None:
    """Items and coats drawn at random, the wall left alone."""
    job = read_job(EXAMPLES / "plover-nose.toml")
    library = library_of(job)
    plan = make_plan(job, library)
    assert job.assembly is not None
    still = Stated.model_validate({"item": [], "finish": []})
    bare = assemble(job.model_copy(update={"assembly": still}), plan.shape, plan.stack, library)
    random = np.random.default_rng(7)
    mass = bare.mass + bare.mass_spread * random.standard_normal(4000)
    first = (plan.shape.base - bare.balance) * bare.mass * np.ones(4000)
    first += (mass - bare.mass) * (plan.shape.base - bare.balance)
    for coat in plan.assembly.coats:
        drawn = coat.mass + coat.mass_spread * random.standard_normal(4000)
        mass += drawn
        centre = coat_centre(plan, coat.start, coat.stop)
        first += drawn * centre
    for item in plan.assembly.items:
        drawn = item.mass + item.mass_spread * random.standard_normal(4000)
        mass += drawn
        first += drawn * (item.x + item.x_spread * random.standard_normal(4000))
    assert plan.assembly.mass_spread == pytest.approx(float(mass.std()), rel=0.05)
    assert plan.assembly.balance_spread == pytest.approx(float((first / mass).std()), rel=0.05)


def coat_centre(plan: Plan, start: float, stop: float) -> float:
    out = plan.stack.outside
    x = np.linspace(start, stop, 2001)
    r, slope = np.interp(x, out.x, out.r), np.gradient(np.interp(x, out.x, out.r), x)
    area = r * np.hypot(1.0, slope)
    return float(np.trapezoid(area * x, x) / np.trapezoid(area, x))


def test_a_job_that_says_nothing_is_the_bare_part(plan: Plan) -> None:
    bare = plan.job.model_copy(update={"assembly": None})
    made = assemble(bare, plan.shape, plan.stack, plan.library)
    assert made.items == ()
    assert made.coats == ()
    assert made.mass == pytest.approx(plan.layup.part_mass, rel=1e-5)
    assert made.mass_spread == pytest.approx(plan.layup.part_mass_spread, rel=1e-4)


def test_ballast_moves_the_balance_as_a_lever_does(plan: Plan) -> None:
    item = {"name": "lead", "mass": "100 g", "from_base": "250 mm"}
    heavy = plan.job.model_copy(update={"assembly": Stated.model_validate({"item": [item]})})
    bare = plan.job.model_copy(update={"assembly": None})
    one, two = (assemble(each, plan.shape, plan.stack, plan.library) for each in (bare, heavy))
    assert two.mass == pytest.approx(one.mass + 0.1, rel=1e-12)
    lever = (one.mass * one.balance + 0.1 * 0.25) / two.mass
    assert two.balance == pytest.approx(lever, rel=1e-12)
    reduced = one.mass * 0.1 / two.mass
    assert two.transverse_inertia == pytest.approx(
        one.transverse_inertia + reduced * (one.balance - 0.25) ** 2, rel=1e-9
    )


def weighed(plan: Plan, fraction: float, voids: float, wall: bool) -> FromWeight:
    """The scale's answer for a part that was laid with another fibre fraction and voids."""
    stack, job, library = plan.stack, plan.job, plan.library
    fibre = sum(piece.trimmed_fibre for piece in plan.layup.pieces)
    (name,) = {layer.textile.fibre for layer in stack.layers}
    volume = fibre / library.fibres[name]["density"].value / fraction
    resin = volume * (1.0 - fraction - voids) * library.resins[job.resin.name]["density"].value
    told: dict[str, object] = {"mass": f"{1e3 * (fibre + resin):.4f} g +- 0.1 g"}
    if wall:
        at = plan.shape.base - 0.05
        planned = np.interp(at, 0.5 * (stack.x[0] + stack.x[-1]), stack.wall)
        thickness = 1e3 * float(planned) * stack.fibre_fraction / fraction
        told |= {"wall": f"{thickness:.4f} mm +- 0.01 mm", "from_base": "50 mm"}
    stated = Stated.model_validate({"weighed": told})
    changed = job.model_copy(update={"assembly": stated})
    answer = assemble(changed, plan.shape, stack, library).weighed
    assert answer is not None
    return answer


def test_the_scale_tells_the_fibre_fraction_and_with_the_wall_the_voids(plan: Plan) -> None:
    """Made dense with 6 % of voids: weight alone takes voids for lack of resin, as it must."""
    both = weighed(plan, 0.46, 0.06, wall=True)
    assert both.fibre_fraction == pytest.approx(0.46, abs=2.0 * both.fibre_spread)
    assert both.voids == pytest.approx(0.06, abs=2.0 * both.voids_spread)
    alone = weighed(plan, 0.46, 0.03, wall=False)
    assert alone.fibre_fraction == pytest.approx(0.46, abs=alone.fibre_spread)
    assert both.fibre_spread < 0.02
    assert both.voids_spread < alone.voids_spread
    assert abs(weighed(plan, 0.42, 0.03, wall=False).surprise) < 0.01
