"""What a print takes: plastic by the kind of core, its mass, length and cost, and the time."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

THREAD = 1.75e-3  # m; diameter of the filament, by far the commonest size sold
LAYER_CHANGE = 6.0  # s; lift, travel and cooling of one layer, no source
TIME_DOUBT = 0.35  # one standard uncertainty of the time as a share of it, no source
CUT = 400  # heights at which the inside of a piece is measured

DENSITY = "materials.plastics.{plastic}.density"
PIECE = "segments.pieces.{item}."
FILLED = (f"{PIECE}volume", "job.mould.core", "job.printer.line")
PLASTIC = (f"{PIECE}filament.plastic",)
TIMED = (*PLASTIC, f"{PIECE}low", f"{PIECE}high", "job.printer.flow", "job.printer.layer")


@dataclass(frozen=True)
class Filament:
    """Plastic, time and money of one print; an estimate before any slicer was asked."""

    plastic: float = result("volume of plastic", "cm^3", None, FILLED)
    mass: float = result("mass", "g", None, (*PLASTIC, DENSITY), "mass_spread")
    mass_spread: float = result("its standard uncertainty", "g", None, (*PLASTIC, DENSITY))
    length: float = result("length of 1.75 mm filament", "m", None, PLASTIC)
    time: float = result("time", "h", None, TIMED, "time_spread")
    time_spread: float = result("its standard uncertainty", "h", None, TIMED)
    cost: float | None = result(
        "cost, in the job's money", "", None, (f"{PIECE}filament.mass", "job.printer.plastic_price")
    )


def spend(job: Job, contour: Array, volume: float, height: float, library: Library) -> Filament:
    """What a piece of this outline and solid volume takes.

    plastic = V − (1 − infill)·V_inside, the inside within walls·line of every face;
    m = ρ V, l = 4V/(π d²), time = V/flow + layers·6 s, cost = price·m.
    """
    core = job.mould.core
    if core.walls is not None and core.infill is not None:
        skin = core.walls * job.printer.line.value
        volume -= (1.0 - core.infill.value) * min(inside(contour, skin), volume)
    return spent(job, volume, height, library)


def spent(job: Job, plastic: float, height: float, library: Library) -> Filament:
    """Mass, length, time and cost of a volume of plastic (m³) laid over a height (m)."""
    density = library.plastics[job.mould.plastic]["density"]
    layers = math.ceil(height / job.printer.layer.value)
    time = plastic / job.printer.flow.value + layers * LAYER_CHANGE
    mass, price = density.value * plastic, job.printer.plastic_price
    return Filament(
        plastic,
        mass,
        density.spread * plastic,
        plastic / (math.pi / 4.0 * THREAD**2),
        time,
        TIME_DOUBT * time,
        None if price is None else price.value * mass,
    )


def inside(contour: Array, skin: float) -> float:
    """Volume (m³) further than ``skin`` (m) from the faces of a turned outline.

    V = π ∫ (R − s)² − (R_i + s)² dz from s above the lowest to s below the highest face, R the
    outer and R_i the inner radius, s horizontal: short by cos β where the side slopes.
    """
    low, high = contour[:, 1].min() + skin, contour[:, 1].max() - skin
    if high <= low:
        return 0.0
    heights = np.linspace(low, high, CUT)
    radius = np.interp(heights, contour[1:, 1], contour[1:, 0]) - skin
    core = contour[0, 0] + skin if contour[0, 0] else 0.0
    area = np.pi * np.maximum(0.0, np.maximum(radius, 0.0) ** 2 - core**2)
    return float(np.trapezoid(area, heights))
