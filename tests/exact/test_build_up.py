"""Laying every sleeve again, by another hand, on the mould curve that the plan wrote."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from mandrelwright.plan import Plan
from tests import jobs, meridians
from tests.meridians import Line, Net, Ply

NANOMETRE = 1e-9
BASE, SKIRT = 102.0, 100.0  # mm
NETS = {  # as in the sleeves of jobs.BASE
    "big": (144, 600e-6, 0.042, 1.9e-3),
    "small": (144, 300e-6, 0.028, 1.3e-3),
}
PLACES = (400, 1600)


@dataclass(frozen=True)
class Nose:
    """A nose of the job and the formula for r/R at u = x/L that the test draws it by."""

    shape: str
    length: float  # mm
    tip: Any
    law: Callable[[NDArray[Any]], NDArray[Any]]
    more: dict[str, Any]
    corner: float | None = None  # half length of the rounding between nose and skirt, m


NOSES = {
    "von Karman": Nose("von Karman", 400, {"open": "38 mm"}, meridians.von_karman, {}),
    "sharp ogive": Nose(
        "tangent ogive",
        408,
        "pointed",
        partial(meridians.tangent_ogive, slenderness=8.0),
        {},
    ),
    "ellipsoid": Nose("ellipsoid", 204, {"open": "38 mm"}, meridians.ellipsoid, {}),
    "LV-Haack": Nose(
        "Haack",
        400,
        {"open": "38 mm"},
        partial(meridians.von_karman, fullness=1 / 3),
        {"fullness": 1 / 3},
    ),
    # slope at the base 0.6 R/L = 0.0765: the 20 mm blend gives half of 20 mm · 0.0765
    "power": Nose(
        "power",
        400,
        {"open": "38 mm"},
        partial(meridians.power, exponent=0.6),
        {"exponent": 0.6},
        0.5 * 0.020 * 0.6 * 0.051 / 0.400,
    ),
}


@cache
def planned(name: str, places: int) -> Plan:
    nose = NOSES[name]
    section = jobs.nose(nose.shape, nose.length, BASE, nose.tip, **nose.more)
    return jobs.plan_of(jobs.raw(section=[section, jobs.tube(SKIRT, BASE)]), places)


def drawn(nose: Nose, scale: float) -> meridians.Radius:
    """The drawn outside, radii times the plan's scale, from the nose's own formula."""
    length = nose.length * 1e-3
    radius = meridians.nose_and_tube(length, scale * BASE * 0.5e-3, nose.law)
    return radius if nose.corner is None else meridians.rounded(radius, length, nose.corner)


def plies_of(plan: Plan) -> list[Ply]:
    """The layers by the test's own nets; only where they end is taken from the plan."""
    density = jobs.library().fibres["E-glass"]["density"].value
    return [
        Ply(Net(*NETS[layer.textile.name], density, 0.40), layer.start, layer.stop, layer.ramp)
        for layer in plan.stack.layers
    ]


def lines_of(plan: Plan) -> list[Line]:
    """The written mould curve, one spline for each smooth piece."""
    mould = plan.stack.mould
    return meridians.split(mould.x, mould.r, plan.stack.meridian.joints)


@pytest.mark.parametrize("places", PLACES)
@pytest.mark.parametrize("name", NOSES)
def test_layers_laid_again_on_the_mould_reach_the_drawn_surface(name: str, places: int) -> None:
    """Every node within 1 nm. Splines by another parameter differ by up to 0.3 nm."""
    plan = planned(name, places)
    lines = lines_of(plan)
    for ply in plies_of(plan):
        lines = [line.over(ply) for line in lines]
    radius = drawn(NOSES[name], plan.stack.scale)
    misses = [meridians.distance(*line.nodes, radius) for line in lines]
    assert max(np.abs(miss).max() for miss in misses) < NANOMETRE
    assert all(layer.room for layer in plan.stack.layers)
    assert sum(len(miss) for miss in misses) > 0.95 * places  # the closest nodes are dropped


@pytest.mark.parametrize("name", NOSES)
def test_between_the_nodes_the_curve_is_good_to_nanometres(name: str) -> None:
    """Ramps have a node every 3 mm and a jump in their third derivative at the ends."""
    plan = planned(name, 400)
    lines, plies = lines_of(plan), plies_of(plan)
    for ply in plies[:-1]:
        lines = [line.over(ply) for line in lines]
    radius = drawn(NOSES[name], plan.stack.scale)
    for line in lines:
        between = (line.s[1:] + line.s[:-1]) / 2
        x, r, _ = line.laid(plies[-1], between)
        assert np.abs(meridians.distance(x, r, radius)).max() < 2e-8


def test_layers_overlap_in_their_ramps_and_end_inside_the_part() -> None:
    """The build-up above is not the easy case: at one place four layers are in a ramp."""
    stack = planned("von Karman", 400).stack
    ramping = (stack.share > 0.01) & (stack.share < 0.99)
    assert ramping.sum(axis=0).max() >= 4


def test_sharp_nose_is_followed_to_the_last_radius() -> None:
    """The mould is written down to a core of 6 mm radius or less, and stops before it vanishes.

    It need not reach 3 mm: there the meridian turns square to the axis.
    """
    plan = planned("sharp ogive", 400)
    assert plan.stack.vanishes is not None
    assert 3e-3 <= plan.stack.mould.r.min() < 6e-3  # m
    assert plan.stack.mould.x[0] > plan.shape.tip + 0.01


def test_the_naive_way_misses() -> None:
    """The check can fail: with the drawn normals for every layer it is missed a hundredfold."""
    plan = planned("von Karman", 400)
    radius = drawn(NOSES["von Karman"], plan.stack.scale)
    line = lines_of(plan)[0]
    x, r, _, _ = line.at(line.s)
    slope = meridians.slope_of(radius, x)
    cosine = 1 / np.sqrt(1 + slope**2)
    for ply in plies_of(plan):
        t = ply.net.thickness(r, cosine, ply.share(x))
        x, r = x - t * cosine * slope, r + t * cosine
    assert np.abs(meridians.distance(x, r, radius)).max() > 100 * NANOMETRE


def test_scale_closes_the_leading_fit() -> None:
    """Narrowest bore along the coupler: mate and wanted clearance, 99.0 + 0.15 mm.

    The plan looks with one slope for all layers, good to a micrometre.
    """
    plan = planned("von Karman", 400)
    mould = plan.stack.mould
    along = (mould.x >= plan.shape.base - 0.090) & (mould.x <= plan.shape.base)
    assert 2 * mould.r[along].min() == pytest.approx(99.15e-3, abs=1e-6)


def test_drawn_inside_is_the_mould_itself() -> None:
    """A bore of 99.15 mm drawn as such needs no scale, and the mould is the drawing."""
    part = {"name": "Test nose", "describes": "inside"}
    sections = [jobs.nose("von Karman", 400, 99.15, {"open": "38 mm"}), jobs.tube(100, 99.15)]
    layers = [
        {"sleeve": "small", "from": "tip", "to": {"diameter": "68 mm"}, "repeat": 2},
        {"sleeve": "big", "from": {"diameter": "62 mm"}, "to": "end"},
    ]
    plan = jobs.plan_of(jobs.raw(part=part, section=sections, layer=layers))
    radius = meridians.nose_and_tube(0.400, 99.15e-3 / 2, meridians.von_karman)
    mould = plan.stack.mould
    assert plan.stack.scale == pytest.approx(1.0, abs=1e-12)
    np.testing.assert_allclose(mould.r, radius(mould.x), atol=1e-12)  # m; rounding of 0.5 m
