"""Whether glue, pins, vents and metal are what the flight asks."""

from __future__ import annotations

import math

from mandrelwright.findings import joints as say
from mandrelwright.findings.assembly import weighed
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.stages.assembly import METALS, Assembly
from mandrelwright.stages.edge import Edged
from mandrelwright.stages.joints import LITTLE, Bonded, Joints, Pinned, Vented
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import Stack


def check_joints(
    shape: Shape, stack: Stack, assembly: Assembly, joints: Joints, library: Library
) -> list[Finding]:
    """Findings of the bond, the pins, the vent, metal on carbon and coats on a flush fit."""
    found = []
    if joints.bond is not None:
        found += _bond(joints.bond, library)
    if joints.pins is not None and joints.vent is not None:
        found += _pins(joints.pins, joints.vent, library)
    if joints.vent is not None:
        found += _vent(joints.vent, joints.pins)
    if joints.edge is not None:
        found += _edge(joints.edge, library)
    return found + _weight(assembly) + _metal(stack, assembly, library) + _flush(shape, assembly)


def _weight(assembly: Assembly) -> list[Finding]:
    """What the scale told."""
    told = assembly.weighed
    if told is None:
        return []
    fibre, voids = (told.fibre_fraction, told.fibre_spread), (told.voids, told.voids_spread)
    return [weighed(told.mass, told.expected, fibre, voids, told.surprise)]


def _bond(bond: Bonded, library: Library) -> list[Finding]:
    """Wax in the bore, glue lines too thick, too little reserve."""
    found = [say.abrade(bond.fit)]
    wanted = library.practice["joints"]["bond_reserve"].value
    if bond.reserve < wanted:
        found.append(say.bond_weak(bond.fit, bond.case, bond.reserve, bond.temperature, bond.kept))
    thickest = library.adhesives[bond.adhesive]["thickest"].value
    if bond.gap > thickest:
        found.append(say.gap_thick(bond.fit, bond.gap, thickest))
    return found


def _pins(pins: Pinned, vent: Vented, library: Library) -> list[Finding]:
    """Pins that shear too early, hold on, or sit in a wall that gives way first."""
    practice, found = library.practice["joints"], []
    low, high = pins.hold - pins.hold_spread, pins.hold + pins.hold_spread
    if pins.asked * practice["hold"].value > low:
        found.append(say.pins_shear_early(pins.fit, low, pins.asked, pins.trapped, vent.wanted))
    if pins.ejection < high * practice["let_go"].value:
        found.append(say.pins_hold_on(pins.fit, high, pins.ejection))
    for way, force, spread in (
        ("is crushed in its holes", pins.crush, pins.crush_spread),
        ("tears out to its end", pins.tear, pins.tear_spread),
    ):
        if force - spread < high:
            found.append(say.tears_first(pins.fit, way, force - spread, high))
    share = practice["edge_share"].value
    if pins.edge < share * pins.bears:
        found.append(say.edge_close(pins.fit, pins.edge, pins.bears, share))
    return found


def _edge(edge: Edged, library: Library) -> list[Finding]:
    """A cord that may cut into the open edge."""
    if edge.reserve >= library.practice["strength"]["reserve_wanted"].value:
        return []
    return [say.zippers(edge.width, edge.force, edge.factor, edge.factor_spread)]


def _vent(vent: Vented, pins: Pinned | None) -> list[Finding]:
    """Air that stays behind."""
    if not vent.lag > LITTLE:
        return []
    force = math.nan if pins is None else pins.trapped
    return [say.unvented(vent.lag, force, vent.wanted, vent.area > 0.0)]


def _metal(stack: Stack, assembly: Assembly, library: Library) -> list[Finding]:
    """Metal items that touch a wall with carbon on either face."""
    faces = [library.fibres[stack.layers[number].textile.fibre] for number in (0, -1)]
    if not any("laminate_conductivity" in fibre for fibre in faces):
        return []
    return [
        say.metal_on_carbon(item.name, item.material)
        for item in assembly.items
        if item.material in METALS and not item.isolated
    ]


def _flush(shape: Shape, assembly: Assembly) -> list[Finding]:
    """Coats that lie on a flush fit."""
    found = []
    for place in shape.fits:
        laid = [c for c in assembly.coats if place.fit.kind == "flush" and c.stop > place.start]
        if laid:
            adds = sum(coat.thickness for coat in laid)
            spread = math.sqrt(sum(coat.spread**2 for coat in laid))
            found.append(say.coats_at_flush(place.name, adds, spread))
    return found
