"""Step 1, Shape: the drawn surface as smooth pieces from tip to base, and where fits lie on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.sections import Cylinder, Measured, Transition
from mandrelwright.job.spec import Fit, Flush, Job, Section
from mandrelwright.physics import profiles
from mandrelwright.physics.curves import hermite, spline_derivative
from mandrelwright.stages.record import derived, result

Array = NDArray[np.float64]
TUBES = (Cylinder, Transition, Measured)  # sections that are no nose
Law = Callable[[Array], tuple[Array, Array]]  # x → (r, dr/dx)

LEAST_RADIUS = 3e-3  # m: nothing is laid, printed or drilled on a thinner core
FLAT_CORNER = 1e-6  # slope jump that is not a corner
CUTS, NARROWINGS = 64, 10  # 64^10 = 2^60 parts: to rounding


@dataclass(frozen=True)
class Piece:
    """A stretch of the drawn surface with one smooth law, between two x from the tip (m)."""

    name: str
    start: float = result("where it begins, x from the tip of the full profile", "mm")
    stop: float = result("where it ends, x from the tip of the full profile", "mm")
    law: Law = result("radius and slope over x")


@dataclass(frozen=True)
class FitPlace:
    """Where a fit of the job lies: x of its tipward and baseward end, from the tip (m)."""

    fit: Fit
    start: float = result(
        "tipward end, x from the tip", "mm", (), ("job.fit[{row}].to_base", "shape.base")
    )
    stop: float = result(
        "baseward end, x from the tip", "mm", (), ("job.fit[{row}].from_base", "shape.base")
    )

    @property
    def name(self) -> str:
        """As the job calls it."""
        return self.fit.name

    @property
    @derived("mm", None, "job.fit[{row}].clearance | job.fit[{row}].step")
    def wanted(self) -> float:
        """What the builder wants: clearance on diameter, or step per side of a flush fit (m)."""
        if isinstance(self.fit, Flush):
            wanted = self.fit.step.wanted
            middle = 0.5 * (self.fit.step.least.value + self.fit.step.most.value)
            return middle if wanted is None else wanted.value
        return self.fit.clearance.wanted.value

    @property
    @derived("mm", None, "job.fit[{row}].clearance | job.fit[{row}].step")
    def window(self) -> tuple[float, float]:
        """Least and most of the same, m."""
        gap = self.fit.step if isinstance(self.fit, Flush) else self.fit.clearance
        return gap.least.value, gap.most.value


@dataclass(frozen=True)
class Shape:
    """The drawn surface: which side it describes, its pieces, trim lines and fits."""

    describes: str = result("which surface the sections draw", "", (), ("job.part.describes",))
    pieces: tuple[Piece, ...] = result(
        "smooth pieces of the drawn surface, margins included",
        "",
        None,
        ("job.section[*]", "shape.tip", "shape.base", "job.mould.beyond_trim"),
    )
    tip: float = result(
        "tip trim line, x from the tip of the full profile",
        "mm",
        profiles.nose,
        ("job.section[1]",),
    )
    base: float = result(
        "base trim line: length of the full profile", "mm", (), ("job.section[*]",)
    )
    fits: tuple[FitPlace, ...] = result("fits and where they lie", "", ())

    @property
    def start(self) -> float:
        """x where the mould's tipward margin begins (m)."""
        return self.pieces[0].start

    @property
    def stop(self) -> float:
        """x where the mould's baseward margin ends (m)."""
        return self.pieces[-1].stop

    @property
    def lead(self) -> FitPlace:
        """The fit that sets the mould."""
        return next(place for place in self.fits if place.fit.leads)

    def profile(self, x: Array) -> tuple[Array, Array]:
        """Radius and slope of the drawn surface: (r, dr/dx) at x (place,), in m."""
        r, slope = np.empty_like(x), np.empty_like(x)
        which = np.searchsorted([piece.stop for piece in self.pieces[:-1]], x, side="left")
        for number in np.unique(which):
            here = which == number
            r[here], slope[here] = self.pieces[number].law(x[here])
        return r, slope

    def radius(self, x: float) -> float:
        """Radius of the drawn surface at one x (m)."""
        return float(self.profile(np.array([x]))[0][0])

    def x_of_diameter(self, diameter: float) -> float | None:
        """The first x, from the tip, at which the drawn diameter is reached; None if never."""
        x = np.linspace(self.start, self.stop, 2001)
        above = 2.0 * self.profile(x)[0] - diameter
        crossing = np.flatnonzero((above[:-1] < 0.0) != (above[1:] < 0.0))
        if len(crossing) == 0:
            return None
        low, high = x[crossing[0]], x[crossing[0] + 1]
        if above[crossing[0]] > 0.0:
            low, high = high, low
        return _reached(self.profile, diameter / 2.0, low, high)


def draw_shape(job: Job) -> Shape:
    """Join the sections into one smooth profile with margins beyond both trim lines.

    Corners between sections are rounded by the parabola that is tangent to both sides,
    curvature radius = the section's ``blend``. x from the tip of the full profile, m.
    Source of the noses' laws: Crowell, The Descriptive Geometry of Nose Cones (1996).
    """
    pieces: list[Piece] = []
    x = 0.0
    for section in job.sections:
        piece = Piece(section.name, x, x + section.length.value, partial(_section_law, section, x))
        pieces += _split_at_blunt_tip(section, piece)
        x = piece.stop
    base, tip = x, _tip_trim(job, pieces)
    blends = {section.name: section.blend.value for section in job.sections}
    pieces = _with_rounded_corners(_with_margins(job, pieces, tip, base), blends)
    fits = tuple(
        FitPlace(fit, base - fit.to_base.value, base - fit.from_base.value) for fit in job.fits
    )
    return Shape(job.part.describes, tuple(pieces), tip, base, fits)


def _section_law(section: Section, front: float, x: Array) -> tuple[Array, Array]:
    """Radius and slope of one section of the job at x from the tip of the part."""
    x = x - front
    if isinstance(section, Cylinder):
        return np.full_like(x, section.diameter.value / 2.0), np.zeros_like(x)
    if isinstance(section, Transition):
        slope = (section.back.value - section.front.value) / 2.0 / section.length.value
        return section.front.value / 2.0 + slope * x, np.full_like(x, slope)
    if isinstance(section, Measured):
        nodes = np.array([row[0].value for row in section.table])
        radii = np.array([row[1].value for row in section.table]) / 2.0
        return hermite(nodes, radii, spline_derivative(nodes) @ radii, x)
    length, radius = section.length.value, section.base.value / 2.0
    if section.tip.blunt is not None:
        return profiles.blunt(
            section.shape, x, length, radius, section.tip.blunt.value, section.parameter
        )
    return profiles.nose(section.shape, x, length, radius, section.parameter)


def _straight(x0: float, r0: float, slope: float, x: Array) -> tuple[Array, Array]:
    """The tangent line through (x0, r0)."""
    return r0 + slope * (x - x0), np.full_like(x, slope)


def _split_at_blunt_tip(section: Section, piece: Piece) -> list[Piece]:
    """A blunted nose is two smooth pieces: the sphere from its apex, and the profile."""
    if isinstance(section, TUBES) or section.tip.blunt is None:
        return [piece]
    ball = profiles.blunting(
        section.shape,
        section.length.value,
        section.base.value / 2.0,
        section.tip.blunt.value,
        section.parameter,
    )
    cap = replace(piece, name=f"{piece.name} tip", start=ball.apex, stop=ball.tangency)
    return [cap, replace(piece, start=ball.tangency)]


def _tip_trim(job: Job, pieces: list[Piece]) -> float:
    """x of the tip trim line: where an open tip is cut square, else where the profile begins."""
    first = job.sections[0]
    if isinstance(first, TUBES) or first.tip.open is None:
        return pieces[0].start
    return _reached(pieces[0].law, first.tip.open.value / 2.0, 0.0, pieces[0].stop)


def _reached(law: Law, radius: float, low: float, high: float) -> float:
    """The end at which a law that rises from ``low`` to ``high`` has reached ``radius``."""
    for _ in range(NARROWINGS):
        x = np.linspace(low, high, CUTS + 1)
        below = int(np.count_nonzero(law(x[1:-1])[0] < radius))
        low, high = x[below : below + 2].tolist()
    return high


def _with_margins(job: Job, pieces: list[Piece], tip: float, base: float) -> list[Piece]:
    """Run the first and last law on beyond the trim lines, never thinner than LEAST_RADIUS."""
    first, last = pieces[0], pieces[-1]
    margin = job.mould.beyond_trim
    start = tip - margin.tip.value
    if not isinstance(job.sections[0], TUBES):
        start = max(start, _reached(first.law, LEAST_RADIUS, first.start, first.stop))
    pieces = [replace(first, start=start), *pieces[1:]]
    r, slope = last.law(np.array([base]))
    law = partial(_straight, base, float(r[0]), float(slope[0]))
    return [*pieces, Piece("base margin", base, base + margin.base.value, law)]


def _with_rounded_corners(pieces: list[Piece], radii: dict[str, float]) -> list[Piece]:
    """Replace every corner by the cubic tangent to both sides (a parabola between lines).

    radii: curvature radius (m) wanted at the joint before each section, by name; ±ℓ with
    ℓ = R·|jump of slope|/2, at most 0.4 of either neighbour.
    """
    out = [pieces[0]]
    for piece in pieces[1:]:
        joint, before, radius = piece.start, out[-1], radii.get(piece.name, 0.0)
        at = np.array([joint])
        jump = abs(float(before.law(at)[1][0] - piece.law(at)[1][0]))
        if jump > FLAT_CORNER:
            room = 0.4 * min(before.stop - before.start, piece.stop - piece.start)
            half = min(0.5 * radius * jump, room)
            nodes = np.array([joint - half, joint + half])
            (r0, s0), (r1, s1) = before.law(nodes[:1]), piece.law(nodes[1:])
            ends, slopes = np.concatenate((r0, r1)), np.concatenate((s0, s1))
            out[-1] = replace(before, stop=nodes[0])
            name = f"corner before {piece.name}"
            out.append(Piece(name, nodes[0], nodes[1], partial(hermite, nodes, ends, slopes)))
            piece = replace(piece, start=nodes[1])
        out.append(piece)
    return out
