"""How layers end: growth under squeeze, which end is tied, ridges of square ends."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from mandrelwright.plan import Plan
from tests import jobs
from tests.meridians import Net, Ply

SIX = 6
LOOSE = 0.30  # V_f of a wet sleeve before it is squeezed, as in the library


def tube(margin_mm: float = 10.0, **changes: Any) -> Plan:
    """Six sleeves that lie at about 45 degrees on a tube of 98 mm, 400 mm long."""
    return jobs.plan_of(
        jobs.raw(
            **{
                "section": [jobs.tube(400, 104)],
                "sleeve": [jobs.sleeve("full", 98, 600, 1.9)],
                "fit": [jobs.bore("98.0 mm +- 0.02 mm", 0, 90)],
                "layer": [{"sleeve": "full", "from": "tip", "to": "end", "repeat": SIX}],
                "mould": {
                    "plastic": "ASA",
                    "beyond_trim": {"tip": f"{margin_mm} mm", "base": "15 mm"},
                },
                **changes,
            }
        ),
        100,
    )


def grown(plan: Plan) -> list[float]:
    """Growth of every layer, told at its free end (m)."""
    return [max(pair) for pair in np.array([e.growth for e in plan.mould.ends]).reshape(-1, 2)]


def test_growth_on_a_tube_is_tan_squared_times_the_squeeze() -> None:
    """dL = L tan² θ dr/r, dr what the layers below and half the own one lose: (V_f/0.30 − 1) t.

    The outermost of six loses 1 mm at 45° on a radius of 50 mm: 8 mm over 425 mm.
    """
    plan = tube()
    density = jobs.library().fibres["E-glass"]["density"].value
    net = Net(144, 600e-6, 0.049, 1.9e-3, density, 0.40)
    radius, below, length = plan.stack.mould.r[:1], np.zeros(1), 0.400 + 0.010 + 0.015
    expected = []
    for _ in range(SIX):
        t = net.thickness(radius, np.ones(1))
        middle = radius + t / 2
        squeeze = (0.40 / LOOSE - 1) * (below + t / 2)
        expected.append(float((length * np.tan(net.angle(middle)) ** 2 * squeeze / middle)[0]))
        radius, below = radius + t, below + t
    assert grown(plan) == pytest.approx(expected, rel=1e-6)
    assert expected[-1] == pytest.approx(8e-3, rel=0.15)


def test_end_with_less_room_is_tied_and_the_other_told_when_it_cannot_grow() -> None:
    """10 mm of margin at the tip, 15 at the base; with 3 and 5 mm the outer layers find none."""
    for end in tube().mould.ends:
        assert end.free == (end.side == "base")
        assert (end.growth > 0.0) == end.free
    margins = {"plastic": "ASA", "beyond_trim": {"tip": "3 mm", "base": "5 mm"}}
    tight = tube(mould=margins)
    told = [f for f in tight.findings if f.id == "mould.cannot-grow"]
    assert len(told) == sum(growth > 5e-3 for growth in grown(tight))
    assert 0 < len(told) < SIX
    assert [f for f in tube().findings if f.id == "mould.cannot-grow"] == []


def test_ridge_of_a_square_end_is_the_difference_of_two_ramps() -> None:
    """A cut sleeve falls off over 5 mm where the mould makes room over 30 mm.

    Largest difference of the two C2 steps: 0.34 of the layer, seen between nodes 3 mm apart.
    """
    layers = [
        {"sleeve": "big", "from": "tip", "to": "end"},
        {"sleeve": "big", "from": {"diameter": "70 mm"}, "to": "end"},
    ]
    plan = jobs.plan_of(jobs.raw(layer=layers))
    layer, stack = plan.stack.layers[1], plan.stack
    assert layer.room
    x = np.linspace(layer.start - 0.02, layer.start + 0.02, 4001)
    net = Net(144, 600e-6, 0.042, 1.9e-3, 2550.0, 0.40)
    gap = Ply(net, layer.start, np.inf, 0.005).share(x) - Ply(net, layer.start, np.inf, 0.03).share(
        x
    )
    node = int(np.argmin(np.abs(stack.mould.x - layer.start - 0.02)))
    expected = gap.max() * stack.thickness[1, node]
    end = next(e for e in plan.mould.ends if e.layer == layer.label and e.side == "tip")
    assert end.kind == "faired"
    assert end.ridge == pytest.approx(expected, rel=0.1)
    through = [e for e in plan.mould.ends if e.layer == plan.stack.layers[0].label]
    assert [(e.kind, e.ridge) for e in through] == [("through", 0.0)] * 2


def test_ridge_of_a_layer_laid_proud_is_the_layer() -> None:
    """On a tube no slope pays for a ramp: the layer stands on the drawn surface."""
    layers = [
        {"sleeve": "full", "from": "tip", "to": "end"},
        {"sleeve": "full", "from": "250 mm", "to": "150 mm"},
    ]
    plan = tube(layer=layers)
    ends = [e for e in plan.mould.ends if e.layer == plan.stack.layers[1].label]
    assert [e.kind for e in ends] == ["proud", "proud"]
    inside = (plan.stack.x[1] > 0.17) & (plan.stack.x[1] < 0.23)
    thickness = plan.stack.thickness[1][inside].mean()
    assert [e.ridge for e in ends] == pytest.approx([thickness] * 2, rel=0.02)
    assert plan.mould.comes_off
