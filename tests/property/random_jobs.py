"""Jobs drawn at random from a seed: all noses, tubes and tapers, partial layers, rebates."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.random import Generator

from tests import jobs

NOSES: dict[str, dict[str, Any]] = {
    "cone": {},
    "tangent ogive": {},
    "ellipsoid": {},
    "von Karman": {},
    "parabola": {"fullness": 0.75},
    "power": {"exponent": 0.6},
    "Haack": {"fullness": 1 / 3},
    "secant ogive": {},
}


def random_job(seed: int) -> dict[str, Any]:
    """Plain tables of one job; the same seed gives the same job."""
    draw = np.random.default_rng(seed)
    base = round(draw.uniform(60.0, 150.0), 1)
    sections = _sections(draw, base)
    length = sum(_mm(section["length"]) for section in sections)
    nose, tip = "tip" in sections[0], sections[0].get("tip", "")
    layers = [_first(draw, base, nose, tip)]
    layers += [_layer(draw, base, length, nose) for _ in range(draw.integers(0, 4))]
    last = sections[-1]
    size = _mm(last["diameter" if "diameter" in last else "base"])
    return jobs.raw(
        part={"name": f"Job {seed}", "describes": str(draw.choice(["outside", "inside"]))},
        section=sections,
        sleeve=_sleeves(base),
        layer=layers,
        fit=[_fit(draw, size, length)],
        mould={
            "plastic": "ASA",
            "leaves": str(draw.choice(["tipwards", "basewards"], p=[0.75, 0.25])),
            "beyond_trim": {"tip": "10 mm", "base": "15 mm"},
        },
        printer={"bed": ["500 mm", "500 mm"], "height": "2 m"},
    )


def _mm(text: str) -> float:
    return float(text.removesuffix(" mm"))


def _sections(draw: Generator, base: float) -> list[dict[str, Any]]:
    """A nose with or without a skirt, a tube, or two tubes with a taper between them."""
    kind = draw.choice(
        ["nose", "nose and skirt", "tube", "taper", "boat tail"], p=[0.25, 0.4, 0.05, 0.15, 0.15]
    )
    if kind == "tube":
        return [jobs.tube(200, base)]
    if kind in ("taper", "boat tail"):
        front, back = (0.7 * base, base) if kind == "taper" else (base, 0.7 * base)
        front, back = round(front, 1), round(back, 1)
        taper = {
            "name": "taper",
            "shape": "transition",
            "front": f"{front} mm",
            "back": f"{back} mm",
            "length": f"{round(draw.uniform(0.6, 3.0) * base)} mm",
        }
        return [jobs.tube(60, front, "front"), taper, jobs.tube(80, back, "back")]
    shape = str(draw.choice(list(NOSES)))
    length = round(draw.uniform(2.0, 5.0) * base)
    more = dict(NOSES[shape])
    if shape == "secant ogive":
        tangent = (length**2 + base**2 / 4) / base
        more["ogive_radius"] = f"{round(draw.uniform(1.2, 3.0) * tangent)} mm"
    share = 0.18 if shape == "ellipsoid" else 0.08  # an ellipsoid is blunt by itself
    tips = ["pointed", {"open": f"{round(0.5 * base)} mm"}, {"blunt": f"{round(share * base)} mm"}]
    tip = tips[int(draw.choice(3, p=[0.15, 0.65, 0.2]))]
    nose = jobs.nose(shape, length, base, tip, **more)
    return [nose] if kind == "nose" else [nose, jobs.tube(100, base)]


def _sleeves(base: float) -> list[Any]:
    """A sleeve that lies at 55 degrees over the base and a smaller one at 55 over 0.6 of it."""
    best = math.sqrt(2) * math.sin(math.radians(55))
    tows = 2 * round(0.73 * base)
    return [
        jobs.sleeve("big", round(base / best, 1), 600, 1.5, tows),
        jobs.sleeve("small", round(0.62 * base / best, 1), 300, 0.9, tows),
    ]


def _first(draw: Generator, base: float, nose: bool, tip: Any) -> dict[str, Any]:
    """A layer over everything, or over all of a nose that a sleeve of one size can cover."""
    start = {"diameter": f"{round(0.55 * base)} mm"} if nose and "open" not in tip else "tip"
    return {"sleeve": "big", "from": start, "to": "end", "repeat": int(draw.integers(1, 4))}


def _layer(draw: Generator, base: float, length: float, nose: bool) -> dict[str, Any]:
    """A partial layer: a patch, a doubler at the base, a tip piece of the smaller sleeve."""
    high, low = sorted(draw.uniform(0.05 * length, 0.9 * length, 2).round(1))[::-1]
    middle: Any = {"diameter": f"{round(draw.uniform(0.6, 0.95) * base)} mm"}
    patch = {"sleeve": "big", "from": f"{high} mm", "to": f"{low} mm"}
    doubler = {"sleeve": "big", "from": f"{high} mm", "to": "end"}
    kinds: list[dict[str, Any]] = [patch, doubler]
    if nose:
        kinds += [
            {"sleeve": "big", "from": middle, "to": "end"},
            {"sleeve": "small", "from": "tip", "to": {"diameter": f"{round(0.64 * base)} mm"}},
        ]
    layer: dict[str, Any] = {
        **kinds[int(draw.integers(len(kinds)))],
        "repeat": int(draw.integers(1, 4)),
        "stagger": f"{draw.choice([0, 5, 10, 20])} mm",
    }
    if draw.random() < 0.35:
        layer["rebate"] = True
        if draw.random() < 0.5:
            layer["ramp"] = f"{round(draw.uniform(5, 60))} mm"
    return layer


def _fit(draw: Generator, size: float, length: float) -> dict[str, Any]:
    """The leading fit at the base: a bore over a coupler, or flush with a tube."""
    if draw.random() < 0.6:
        return jobs.bore(f"{size - 3.0:.2f} mm +- 0.02 mm", 0, min(60, length / 4))
    return {
        "name": "airframe",
        "kind": "flush",
        "mates": f"{size} mm +- 0.02 mm",
        "from_base": "0 mm",
        "to_base": "5 mm",
        "leads": True,
        "step": {"least": "-0.10 mm", "wanted": "0.00 mm", "most": "0.20 mm"},
    }
