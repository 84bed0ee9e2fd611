"""The radio of a plan: carbon shuts in, also in a hybrid; the swap frees; findings say so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.job.read import library_of, read_job
from mandrelwright.job.shelf import Entry, Shelf
from mandrelwright.job.spec import Antenna
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.assembly import assemble
from mandrelwright.stages.flight import fly
from mandrelwright.stages.radio import hear
from mandrelwright.stages.radio_checks import check_radio
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.strength import Strength, judge_strength
from mandrelwright.stages.swap import swapped
from mandrelwright.stages.wall import read_constituents

EXAMPLES = Path(__file__).parents[2] / "examples"
CARBON = "carbon standard modulus"


@pytest.fixture(scope="module")
def nose() -> Plan:
    job = read_job(EXAMPLES / "plover-nose.toml")
    return make_plan(job, library_of(job))


def in_carbon(plan: Plan, *numbers: int) -> Plan:
    """The nose with some layers in carbon of equal thickness, assembled and heard again."""
    stack = swapped(plan.stack, frozenset(numbers), CARBON, plan.library)
    return replace(
        plan,
        stack=stack,
        assembly=assemble(plan.job, plan.shape, stack, plan.library),
        radio=hear(plan.job, plan.shape, stack, plan.cure, strength_of(plan, stack), plan.library),
    )


def strength_of(plan: Plan, stack: Stack) -> Strength | None:
    """The strength of the nose with another wall, loaded and warmed anew."""
    whole = assemble(plan.job, plan.shape, stack, plan.library)
    flight = fly(plan.job, plan.shape, stack, plan.cure, whole, plan.library)
    parts = read_constituents(plan.job, stack.layers, plan.library)
    return judge_strength(plan.job, stack, parts, plan.cure, flight, plan.library)


def told(plan: Plan) -> list[Finding]:
    assert plan.radio is not None
    return check_radio(plan.radio, plan.assembly, plan.library)


def found(plan: Plan) -> dict[str, Level]:
    return {item.id: item.level for item in told(plan)}


def test_glass_lets_radio_through(nose: Plan) -> None:
    """1.5 mm of glass and epoxy at 1575 MHz: some 0.05 dB by the slab formula."""
    assert nose.radio is not None
    position, telemetry = nose.radio.antennas
    assert 0.01 < telemetry.loss < position.loss < 0.10
    assert position.least < position.loss < position.slant_te
    assert 0.0 < position.spread < 0.5 * position.loss
    assert nose.radio.swap is None
    assert "radio.shut-in" not in found(nose)
    assert "radio.weak" not in found(nose)


def test_one_layer_of_carbon_in_a_hybrid_shuts_radio_in(nose: Plan) -> None:
    hybrid = in_carbon(nose, 3)
    assert hybrid.radio is not None
    for one in hybrid.radio.antennas:
        assert one.conductors == ("3 big glass",)
        assert one.loss > 30.0
        assert one.reflected > 0.95
    position, telemetry = hybrid.radio.antennas
    assert position.least < 0.1  # it reaches beyond the end of that layer
    assert telemetry.least > 30.0
    assert found(hybrid)["radio.shut-in"] is Level.STOP


def test_the_swap_back_to_glass_frees_the_antennas_and_costs_its_mass(nose: Plan) -> None:
    hybrid = in_carbon(nose, 3, 4)
    assert hybrid.radio is not None
    swap = hybrid.radio.swap
    assert swap is not None
    assert nose.radio is not None
    assert swap.mass == pytest.approx(nose.assembly.mass, rel=1e-12)
    assert dict(swap.loss) == pytest.approx({one.name: one.loss for one in nose.radio.antennas})
    assert swap.mass - hybrid.assembly.mass == pytest.approx(fibre_gained(nose, hybrid), rel=2e-3)
    stops = [item for item in told(hybrid) if item.level is Level.STOP]
    assert all("3 big glass, 4 big glass conduct" in item.what for item in stops)
    assert "E-glass" in stops[0].do[0]


def fibre_gained(nose: Plan, hybrid: Plan) -> float:
    """Volume of fibre between the trim lines times what glass is heavier by, in two sums."""
    fibres = nose.library.fibres
    gain = fibres["E-glass"]["density"].value - fibres[CARBON]["density"].value
    total = 0.0
    for number in (2, 3):
        x, r = nose.stack.x[number : number + 2], nose.stack.r[number : number + 2]
        at = np.linspace(nose.shape.tip, nose.shape.base, 20_001)
        inner, outer = (np.interp(at, x[side], r[side]) for side in (0, 1))
        total += np.pi * float(np.trapezoid(outer**2 - inner**2, at))
    return total * nose.stack.fibre_fraction * gain


def test_an_antenna_beside_metal_or_under_flakes_is_told(nose: Plan) -> None:
    assert nose.job.assembly is not None
    coat = nose.job.assembly.finish[-1].model_copy(update={"metallic": True})
    item = nose.job.assembly.items[0].model_copy(
        update={"from_base": nose.job.antennas[0].from_base}
    )
    finished = nose.job.assembly.model_copy(update={"finish": (coat,), "items": (item,)})
    job = nose.job.model_copy(update={"assembly": finished})
    heard = hear(job, nose.shape, nose.stack, nose.cure, nose.strength, nose.library)
    whole = assemble(job, nose.shape, nose.stack, nose.library)
    ids = [one.id for one in check_radio(heard, whole, nose.library)]
    assert "radio.metal-flakes" in ids
    assert ids.count("radio.metal-beside") == 1


def test_a_wall_within_a_radian_of_wave_is_told(nose: Plan) -> None:
    """λ/2π is 55 mm at 868 MHz and 30 mm at 1575 MHz; the bore is 49 and 34 mm there."""
    (near,) = [item for item in told(nose) if item.id == "radio.near-wall"]
    assert "telemetry" in near.what
    assert "position" not in near.what


def test_a_fibre_of_which_nothing_is_known_gives_no_number(nose: Plan) -> None:
    glass = nose.library.fibres["E-glass"]
    known = {key: datum for key, datum in glass.items() if key != "permittivity"}
    bare = Entry(glass.path, known, glass.words, glass.like)
    shelf = Shelf("fibres", {**nose.library.fibres, "E-glass": bare})
    library = replace(nose.library, fibres=shelf)
    heard = hear(nose.job, nose.shape, nose.stack, nose.cure, nose.strength, library)
    assert np.isnan(heard.antennas[0].loss)
    ids = [one.id for one in check_radio(heard, nose.assembly, library)]
    assert "radio.not-known" in ids


def test_higher_frequency_and_thicker_walls_lose_more(nose: Plan) -> None:
    """While the wall is thin against a quarter wave in it."""

    def loss(megahertz: float) -> float:
        antenna = Antenna.model_validate(
            {
                "name": "a",
                "frequency": f"{megahertz} MHz",
                "from_base": "150 mm",
                "to_base": "200 mm",
            }
        )
        job = nose.job.model_copy(update={"antennas": (antenna,)})
        return (
            hear(job, nose.shape, nose.stack, nose.cure, nose.strength, nose.library)
            .antennas[0]
            .loss
        )

    losses = [loss(f) for f in (433.0, 868.0, 1575.0, 2450.0)]
    assert losses == sorted(losses)


def test_swapping_glass_for_carbon_moves_mass_reserve_and_radio_as_it_must(nose: Plan) -> None:
    """Lighter by the densities, stiffer and so later to buckle, deaf; the swap says the way."""
    carbon = in_carbon(nose, 1, 2, 3, 4, 5)
    assert nose.strength is not None
    assert nose.radio is not None
    assert carbon.radio is not None
    swap = carbon.radio.swap
    strong = strength_of(nose, carbon.stack)
    assert swap is not None
    assert strong is not None
    gained = nose.assembly.mass - carbon.assembly.mass
    fibres = nose.library.fibres
    density = fibres["E-glass"]["density"].value / fibres[CARBON]["density"].value
    glass = sum(piece.trimmed_fibre for piece in nose.layup.pieces)
    assert gained == pytest.approx(glass * (1.0 - 1.0 / density), rel=1e-3)
    for one, other in zip(nose.strength.failures, strong.failures, strict=True):
        assert one.id == other.id
        if np.isfinite(one.buckles):
            assert other.buckles > 1.2 * one.buckles
    worst, best = nose.strength.worst, strong.worst
    assert worst is not None
    assert best is not None
    assert best.how != worst.how  # fibres pressed, where glass buckled
    assert swap.reserve_now == pytest.approx(best.reserve, rel=1e-9)
    assert swap.reserve == pytest.approx(worst.reserve, rel=1e-9)
    assert swap.mass == pytest.approx(nose.assembly.mass, rel=1e-12)
    assert min(one.least for one in carbon.radio.antennas) > 40.0
    assert max(one.loss for one in nose.radio.antennas) < 0.1
    stop = next(item for item in told(carbon) if item.id == "radio.shut-in")
    assert "reserve factor" in stop.do[0]
