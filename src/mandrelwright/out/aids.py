"""The bench aids as meshes."""

from __future__ import annotations

import math

import manifold3d

from mandrelwright.out.solid import MILLIMETRE, Mesh
from mandrelwright.out.turning import put_together
from mandrelwright.stages.aids import Aid, Aids, Guide

PAST = 2e-3  # m; a guide's cutter sticks out of the wall by this


def mesh_aids(aids: Aids) -> dict[str, Mesh]:
    """One checked mesh for each aid by its name; raises SolidError like the pieces do."""
    return {aid.name: put_together(aid.body, _guides(aid), (), aid.genus) for aid in aids.items}


def _guides(aid: Aid) -> tuple[manifold3d.Manifold, ...]:
    radii = aid.body.contour[:, 0]
    return tuple(_bar(guide, float(radii.min()), float(radii.max())) for guide in aid.guides)


def _bar(guide: Guide, inner: float, outer: float) -> manifold3d.Manifold:
    """A bar of square section, on edge, along a radius; its flats touch the drill."""
    length = (outer - inner + 2.0 * PAST) / MILLIMETRE
    corner = guide.diameter / math.sqrt(2.0) / MILLIMETRE
    bar = manifold3d.Manifold.cylinder(length, corner, corner, 4).scale([guide.rise, 1, 1])
    along = bar.rotate([0, 90, 0]).translate([(inner - PAST) / MILLIMETRE, 0, 0])
    raised = along.translate([0, 0, guide.height / MILLIMETRE])
    return raised.rotate([0, 0, math.degrees(guide.angle)])
