"""mould.step: the uncut mould as one exact solid for CAD, by the optional extra ``step``.

Only this module knows the CAD kernel. It is imported when STEP is asked for: that takes seconds.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakeRevol
from OCP.collections import Array1_gp_Pnt
from OCP.GeomAbs import GeomAbs_C2
from OCP.GeomAPI import GeomAPI_PointsToBSpline
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.Message import Message
from OCP.StepBasic import StepBasic_Product
from OCP.STEPControl import STEPControl_AsIs, STEPControl_Writer
from OCP.TCollection import TCollection_HAsciiString
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer

from mandrelwright import __version__
from mandrelwright.out.solid import MILLIMETRE, SolidError
from mandrelwright.plan import Plan
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.segments import Segments
from mandrelwright.stages.turned import Turned

Array = NDArray[np.float64]

CLOSE_MM = 1e-4  # the spline stays this near to every place of the print file's curve
DEGREES = (3, 8)
STICKS_OUT_MM = 1.0  # cutters never share a face with what they cut
SAME_VOLUME = 1e-4  # relative: frusta between places against a smooth curve through them
STAMP = "1980-01-01T00:00:00"  # fixed, so bytes repeat


def write_step(plan: Plan) -> bytes:
    """The mould as STEP AP214 in millimetres, base at z = 0; same plan, same bytes.

    A revolve of the print file's curve, flange and pull-rod hole in one outline, less vent and
    push-off holes. The curve is one B-spline within 0.1 µm of every computed place. Left out are
    marks, joints, dowels and what is hollow: those are in the pieces. Raises SolidError when the
    kernel leaves anything but one closed solid of the volume that is worked out beforehand.
    """
    outline = _outline(plan.print)
    solid = _revolve(outline, plan.print)
    volume = Turned(outline).volume
    top = float(outline[:, 1].max())
    for x, y, radius, height in _bores(plan.print, plan.segments, top):
        solid = BRepAlgoAPI_Cut(solid, _cylinder(x, y, radius, height)).Shape()
        volume -= math.pi * radius**2 * height
    _verify(solid, volume)
    return _written(solid, plan.job.part.name)


def _outline(form: PrintForm) -> Array:
    """Radius and height (k, 2) round the body, m, counter-clockwise; the curve is its last part.

    First flange and foot, then the curve from its lowest place, then the hole on the axis.
    """
    rim, foot = form.flange or (0.0, 0.0)
    axial = next((d / 2.0 for x, d in form.holes() if x == 0.0), 0.0)
    curve = np.column_stack([form.radius, form.height + foot])
    below = [[axial, 0.0], *([[rim, 0.0], [rim, foot]] if foot else [])]
    above = [[axial, float(curve[-1, 1])]] if curve[-1, 0] > axial else []
    return np.array([*below, *curve, *above])


def _bores(form: PrintForm, made: Segments, top: float) -> Iterator[tuple[float, ...]]:
    """Middle, radius and height of every hole beside the axis, m."""
    for x, diameter in form.holes():
        if x > 0.0:
            yield x, 0.0, diameter / 2.0, top
    for number in range(made.screws):
        turn = 2.0 * math.pi * number / made.screws
        circle = made.screw_circle
        foot = form.flange[1] if form.flange else 0.0
        yield circle * math.cos(turn), circle * math.sin(turn), made.screw / 2.0, foot


def _revolve(outline: Array, form: PrintForm) -> Any:
    """The outline turned round the axis: straight edges, and one spline for the curve."""
    points = outline / MILLIMETRE
    first = len(points) - len(form.radius) - (points[-1, 0] != form.radius[-1] / MILLIMETRE)
    last = first + len(form.radius) - 1
    wire = BRepBuilderAPI_MakeWire()
    corners = [*range(first + 1), *range(last, len(points)), 0]
    for a, b in pairwise(corners):
        if (a, b) == (first, last):
            wire.Add(BRepBuilderAPI_MakeEdge(_spline(points[first : last + 1])).Edge())
        elif not np.allclose(points[a], points[b], rtol=0.0, atol=CLOSE_MM):
            wire.Add(BRepBuilderAPI_MakeEdge(_point(points[a]), _point(points[b])).Edge())
    face = BRepBuilderAPI_MakeFace(wire.Wire()).Face()
    axis = gp_Ax1(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(0.0, 0.0, 1.0))
    return BRepPrimAPI_MakeRevol(face, axis).Shape()


def _spline(points: Array) -> Any:
    """A C2 B-spline through points (n, 2) to within CLOSE_MM."""
    listed = Array1_gp_Pnt(1, len(points))
    for number, point in enumerate(points, 1):
        listed.SetValue(number, _point(point))
    made = GeomAPI_PointsToBSpline(listed, *DEGREES, GeomAbs_C2, CLOSE_MM)
    if not made.IsDone():
        raise SolidError("the CAD kernel finds no smooth curve for the mould")
    return made.Curve()


def _point(point: Array) -> Any:
    """Radius and height (mm) as a point of the plane y = 0."""
    return gp_Pnt(float(point[0]), 0.0, float(point[1]))


def _cylinder(x: float, y: float, radius: float, height: float) -> Any:
    """A bar upright through heights from 0, sticking out at both ends; m."""
    low = gp_Pnt(x / MILLIMETRE, y / MILLIMETRE, -STICKS_OUT_MM)
    axes = gp_Ax2(low, gp_Dir(0.0, 0.0, 1.0))
    reach = height / MILLIMETRE + 2.0 * STICKS_OUT_MM
    return BRepPrimAPI_MakeCylinder(axes, radius / MILLIMETRE, reach).Shape()


def _verify(shape: Any, volume: float) -> None:
    """Raise SolidError unless the shape is one valid solid of a volume (m³)."""
    solids, found = 0, TopExp_Explorer(shape, TopAbs_SOLID)
    while found.More():
        solids += 1
        found.Next()
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, 1e-7)
    made = properties.Mass() * MILLIMETRE**3
    if solids != 1 or not BRepCheck_Analyzer(shape).IsValid():
        raise SolidError(f"the CAD kernel leaves {solids} solids, or one with faults")
    if abs(made - volume) > SAME_VOLUME * volume:
        raise SolidError(
            f"the CAD kernel leaves {made * 1e6:.3f} cm³ where {volume * 1e6:.3f} are due"
        )


def _written(shape: Any, name: str) -> bytes:
    """The shape as STEP text under a fixed header; nothing is said on the screen."""
    messenger = Message.DefaultMessenger_s()
    messenger.ChangePrinters().Clear()
    plain = name.encode("ascii", "replace").decode()
    writer = STEPControl_Writer()
    writer.Transfer(shape, STEPControl_AsIs)
    model = writer.Model()
    for number in range(1, model.NbEntities() + 1):
        if isinstance(product := model.Value(number), StepBasic_Product):
            for set_to in (product.SetId, product.SetName):  # else they count what was written
                set_to(TCollection_HAsciiString(plain))
    header = APIHeaderSection_MakeHeader(model)
    header.SetTimeStamp(TCollection_HAsciiString(STAMP))
    header.SetName(TCollection_HAsciiString(f"{plain}, mould"))
    header.SetAuthorValue(1, TCollection_HAsciiString(""))
    header.SetOriginatingSystem(TCollection_HAsciiString(f"mandrelwright {__version__}"))
    stream = io.BytesIO()
    if writer.WriteStream(stream) != IFSelect_RetDone:
        raise SolidError("the CAD kernel writes no STEP")
    return stream.getvalue()
