"""Wax and release films: what they add to the mould, and where a flat film lies."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import wraps
from mandrelwright.quantities import Quantity
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.size_change import SizeChange

Array = NDArray[np.float64]

FLAT = "double curvature"  # what repels a film that comes flat
WIDTHS_MM = (300, 200, 150, 100, 75, 50, 40, 30, 25, 20, 15, 12, 10)


def lay_films(job: Job, mould: Mould, library: Library) -> list[SizeChange]:
    """Wax coats and the release film, on diameter; wax as release system counts once.

    +2·coats·coat by wax; +2·wraps·film by a film, as thick as it is once a sleeve is stretched.
    """
    out = []
    waxed = {
        f"job.surface[{row}].coats": stated.coats
        for row, stated in enumerate(job.surface, 1)
        if stated.do == "wax"
    }
    coats = sum(waxed.values())
    coat = library.releases["wax"]["coat"]
    if coats:
        origin = coat.basis, coat.source, (*waxed, "materials.releases.wax.coat")
        out.append(SizeChange("wax", 2.0 * coats * coat.value, 2.0 * coats * coat.spread, *origin))
    if job.release.system == "wax" and coats:
        return out
    return [*out, _film(job, mould, library)]


def _film(job: Job, mould: Mould, library: Library) -> SizeChange:
    """The release film, twice on the diameter."""
    release, datum = job.release, library.releases[job.release.system]["film"]
    film, origin = Quantity(datum.value, datum.spread), (datum.basis, datum.source)
    uses: tuple[str, ...] = ("job.release.system", f"materials.{datum.path}")
    if release.film is not None:
        film, origin, uses = release.film, ("stated", "job"), ("job.release.film",)
    if release.stretched_from is not None:
        film = stretched(film, stretch(job, mould))
        uses += "job.release.stretched_from", "mould.curve"
    both = 2.0 * release.wraps
    uses += ("job.release.wraps",) if release.wraps > 1 else ()
    return SizeChange("release film", both * film.value, both * film.spread, *origin, uses)


def stretch(job: Job, mould: Mould) -> float:
    """How far a release sleeve opens over the widest place of the mould; nan without one."""
    if job.release.stretched_from is None:
        return math.nan
    return float(2.0 * mould.curve.r.max() / job.release.stretched_from.value)


def stretched(film: Quantity, opens: float) -> Quantity:
    """The wall of a sleeve that opens by ``opens``, midway between held and free in length.

    The two bounds are taken as equally likely ends; a sleeve that does not open keeps its wall.
    """
    thin, thick = (float(end) for end in wraps.stretched_wall(1.0, max(opens, 1.0)))
    middle, doubt = 0.5 * (thin + thick), (thick - thin) / math.sqrt(12.0)
    return Quantity(middle * film.value, math.hypot(middle * film.spread, doubt * film.value))


def comes_flat(job: Job, library: Library) -> bool:
    """Whether the release system is a flat film that lies on cylinders and cones only."""
    return FLAT in library.releases[job.release.system].words["repelled_by"].words


def pleats(job: Job, mould: Mould, library: Library, width: float) -> tuple[float, float] | None:
    """Where strips of ``width`` (m) would pleat: x of the first and last such place, or None."""
    most = library.practice["film laying"]["lies_strain"].value
    curve = mould.curve
    places = np.flatnonzero(wraps.strip_strain(curve.x, curve.r, width) > most)
    return (float(curve.x[places[0]]), float(curve.x[places[-1]])) if len(places) else None


def widest_strip(job: Job, mould: Mould, library: Library) -> float:
    """The widest of the usual strips that lies everywhere, m; nan when none does."""
    lies = (w * 1e-3 for w in WIDTHS_MM if pleats(job, mould, library, w * 1e-3) is None)
    return next(lies, math.nan)
