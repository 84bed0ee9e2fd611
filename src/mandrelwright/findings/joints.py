"""What the joints tell: glue in a waxed bore, pins too weak or too strong, air shut in, metal."""

from __future__ import annotations

import math

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius

_TEST = "try the ejection on the ground with this joint before it flies"


def abrade(fit: str) -> Finding:
    """The bore that is glued was made on a waxed mould."""
    return Finding(
        "joints.abrade",
        Level.CAUTION,
        f"The bore at {fit} comes off a waxed mould: glue does not hold on it as it is.",
        "Wax and release film stay on the laminate, and a resin-rich face peels off with the glue.",
        (
            "wash with water, wipe with clean solvent until a new cloth stays clean, then abrade "
            "with 80 to 120 grit until no shine is left, wipe again",
            "water must wet the bore without beading; glue within the hour; abrade the coupler too",
        ),
    )


def bond_weak(fit: str, case: str, reserve: float, warm: float, kept: float) -> Finding:
    """A case asks more of the glue than it has to give."""
    return Finding(
        "joints.bond-weak",
        Level.STOP if reserve < 1.0 else Level.CAUTION,
        f"The bond at {fit} has a reserve factor of {reserve:.2g} in {case}.",
        f"Its glue is at {celsius(warm)} then and keeps {100.0 * kept:.0f} % of its "
        "strength; stress is told at the end of the lap, where it is largest.",
        (
            "a longer bond, a glue with a higher glass transition, a post-cure",
            "pins or rivets that carry the load if the glue lets go",
        ),
    )


def gap_thick(fit: str, gap: float, thickest: float) -> Finding:
    """The glue line is thicker than this glue fills."""
    return Finding(
        "joints.gap-thick",
        Level.CAUTION,
        f"The glue line at {fit} is {1e3 * gap:.2f} mm thick.",
        f"This glue fills about {1e3 * thickest:.1f} mm; thicker it runs out, heats or shrinks.",
        ("a thickened glue, or a sleeve of thin cloth in the gap",),
    )


def pins_shear_early(fit: str, hold: float, asked: float, trapped: float, hole: float) -> Finding:
    """What pulls at the pins in flight comes near what they hold."""
    drill = (
        [f"drill a vent of {1e3 * hole:.1f} mm: then no air pulls"] if trapped > 0.2 * asked else []
    )
    return Finding(
        "joints.pins-shear-early",
        Level.STOP if asked > hold else Level.CAUTION,
        f"The pins at {fit} hold {hold:.0f} N and {asked:.0f} N pull at them before ejection.",
        f"{trapped:.0f} N of it is air shut in; the rest is drag and inertia as the rocket slows. "
        "A joint that opens at speed tears the rocket apart.",
        (*drill, "more or thicker pins", _TEST),
    )


def pins_hold_on(fit: str, hold: float, ejection: float) -> Finding:
    """The ejection may not shear the pins."""
    return Finding(
        "joints.pins-hold-on",
        Level.STOP if ejection < hold else Level.CAUTION,
        f"The pins at {fit} hold up to {hold:.0f} N; the ejection pushes with {ejection:.0f} N.",
        "A joint that stays shut comes down with the rocket, under no parachute.",
        ("fewer or thinner pins, or a larger charge", _TEST),
    )


def tears_first(fit: str, way: str, wall: float, pins: float) -> Finding:
    """The laminate gives way before the pins shear."""
    return Finding(
        "joints.tears-first",
        Level.STOP,
        f"At {fit} the wall {way} at {wall:.0f} N, before the pins shear at {pins:.0f} N.",
        "Each less or more one spread. A hole that has torn holds no pin in the next flight, and a "
        "crushed one lets them go at a load that nobody knows.",
        (
            "holes farther from the end, a patch of cloth round them, or bushings",
            "weaker pins, and more of them",
        ),
    )


def edge_close(fit: str, edge: float, diameter: float, share: float) -> Finding:
    """The holes lie near the edge."""
    return Finding(
        "joints.edge-close",
        Level.CAUTION,
        f"The pin holes at {fit} are {1e3 * edge:.1f} mm from the end.",
        f"Good practice is {share:.0f} diameters, {1e3 * share * diameter:.1f} mm here.",
        ("drill farther in", "back the hole with cloth, drill through a cured plug of resin"),
    )


def unvented(lag: float, force: float, hole: float, stated: bool) -> Finding:
    """Air stays behind as the rocket climbs."""
    how = "through the stated hole" if stated else "no vent is stated"
    push = f", {force:.0f} N on the joint" if math.isfinite(force) else ""
    return Finding(
        "joints.unvented",
        Level.CAUTION,
        f"Air shut in reaches {1e-3 * lag:.1f} kPa above the air outside ({how}){push}.",
        "It pushes the nose off before its time and bows a thin wall; quasi-steady flow through "
        "a sharp hole, as if the rocket flew straight up.",
        (f"a hole of {1e3 * hole:.1f} mm, or several of that area, in a cylinder, deburred",),
    )


def zippers(width: float, force: float, factor: float, spread: float) -> Finding:
    """The cord may cut into the open edge of the wall as it comes taut."""
    return Finding(
        "joints.zippers",
        Level.CAUTION,
        f"The open edge bears {factor:.1f} ± {spread:.1f} times what the cord asks as it comes "
        f"taut ({force:.0f} N on {1e3 * width:.0f} mm of edge).",
        "A thin cord that saws across the edge cuts a slit along the wall. Force, width and "
        "strength of an edge are estimates, and a pull outwards that bends the edge is not "
        "counted; common practice, no source.",
        (
            "a wider strap, a sleeve or a ball on the cord where it crosses the edge",
            "a longer cord, and ejection at the top of the flight where it is slow",
            "a band of cloth or a ring round the edge; round it off, never leave it sharp",
            "state what you know: flight.cord, flight.zippering",
        ),
    )


def metal_on_carbon(item: str, material: str) -> Finding:
    """Metal touches carbon."""
    worse = "corrodes fast" if material in ("aluminium", "steel") else "may corrode"
    return Finding(
        "joints.metal-on-carbon",
        Level.CAUTION,
        f"{item}: {material} on carbon {worse} where it gets damp.",
        "Carbon is noble and conducts: with salt or rain the pair is a battery, the metal pays.",
        (
            "a ply of glass or a film of glue between them, sleeves in bolt holes",
            "stainless steel or titanium; isolated = true once it is done",
        ),
    )


def coats_at_flush(fit: str, adds: float, spread: float) -> Finding:
    """Coats lie on a flush fit and add to its step."""
    return Finding(
        "joints.coats-at-flush",
        Level.NOTE,
        f"The finish adds {1e3 * adds:.2f} ± {1e3 * spread:.2f} mm a side at {fit}.",
        "They count in the odds of the flush fit; paint on the tube takes as much away again.",
        ("mask the end, or coat tube and part alike", "from_base on the coat where it ends"),
    )
