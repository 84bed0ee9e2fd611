"""Step 6, Surface: what every treatment does to the diameter, and how rough the print is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.findings import surface as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.job.tooling import Treatment as Stated
from mandrelwright.physics import roughness
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

MODEL_DOUBT = 0.5  # relative spread of a levelling loss that no coupon has told


@dataclass(frozen=True)
class SizeChange:
    """What one treatment or film adds to the diameter: mean, spread (m), and where it is from."""

    label: str
    diameter: float
    spread: float
    basis: str
    source: str


@dataclass(frozen=True)
class Surface:
    """Size changes in order (before wax: ``treatments``; wax and film: ``films``), roughness."""

    treatments: tuple[SizeChange, ...] = result(
        "change of diameter by treatment", "mm", roughness.levelling_loss, ("job.surface",)
    )
    films: tuple[SizeChange, ...] = result(
        "wax and release film on the diameter", "mm", uses=("job.release", "materials.releases")
    )
    roughness: Array = result(
        "Ra of the print before any treatment",
        "µm",
        roughness.layer_line_roughness,
        ("job.printer.layer", "materials.practice"),
    )


def treat_surface(job: Job, mould: Mould, library: Library) -> Surface:
    """Size change and spread of each treatment and film, and the roughness of the print.

    Sanding −2·off, filling +2·adds, smoothing −(2h/3)(1 − e^(−t/τ)) − run-off unless a coupon
    tells, wax 2·coats·coat, film 2·thickness; all on diameter, m.
    """
    ra = _roughness(job, mould, library)
    treatments = [
        _change(stated, float(ra.min()), library) for stated in job.surface if stated.do != "wax"
    ]
    return Surface(tuple(treatments), tuple(_films(job, library)), ra)


def _change(stated: Stated, ra: float, library: Library) -> SizeChange:
    """One treatment other than wax."""
    if stated.do == "sand":
        return SizeChange(
            "sanding", -2.0 * stated.off.value, 2.0 * stated.off.spread, "stated", "job"
        )
    if stated.do == "fill":
        return SizeChange(
            "filler", 2.0 * stated.adds.value, 2.0 * stated.adds.spread, "stated", "job"
        )
    assert isinstance(stated, Smooth)
    if stated.loss is not None:
        loss = stated.loss
        return SizeChange("smoothing", -loss.value, loss.spread, "measured", "coupon in the job")
    practice = library.practice["smoothing"]
    warm = "hot" in stated.agent or "warm" in stated.agent
    tau = practice["time_constant_hot" if warm else "time_constant_cold"]
    share = roughness.levelled_share(stated.time.value, tau.value)
    levelled = float(roughness.levelling_loss(roughness.scallop_height(ra), share))
    extra = practice["extra_loss"]
    spread = float(np.hypot(MODEL_DOUBT * levelled, extra.spread))
    return SizeChange("smoothing", -levelled - extra.value, spread, extra.basis, extra.source)


def _films(job: Job, library: Library) -> list[SizeChange]:
    """Wax coats and the release film, on diameter; wax as release system counts once."""
    out = []
    coats = sum(stated.coats for stated in job.surface if stated.do == "wax")
    coat = library.releases["wax"]["coat"]
    if coats:
        spread = 2.0 * coats * coat.spread
        out.append(SizeChange("wax", 2.0 * coats * coat.value, spread, coat.basis, coat.source))
    if job.release.system == "wax" and coats:
        return out
    stated = job.release.film
    if stated is not None:
        spread = 2.0 * stated.spread
        out.append(SizeChange("release film", 2.0 * stated.value, spread, "stated", "job"))
    else:
        film = library.releases[job.release.system]["film"]
        out.append(
            SizeChange("release film", 2.0 * film.value, 2.0 * film.spread, film.basis, film.source)
        )
    return out


def _roughness(job: Job, mould: Mould, library: Library) -> Array:
    """Ra of the print at every place of the mould (m), printed upright."""
    practice = library.practice["roughness"]
    return roughness.layer_line_roughness(
        job.printer.layer.value,
        np.abs(np.arctan(mould.slope)),
        practice["wall"].value,
        practice["stair"].value,
        practice["floor"].value,
    )


def check_surface(job: Job, library: Library) -> list[Finding]:
    """A solvent that does not touch the plastic; the cautions that go with solvent."""
    found = []
    dissolves = library.plastics[job.mould.plastic].words["smooths_with"].words
    for stated in job.surface:
        if isinstance(stated, Smooth):
            if not any(solvent in stated.agent for solvent in dissolves):
                found.append(say.does_not_smooth(stated.agent, job.mould.plastic, dissolves))
            found.append(say.solvent_vapour(stated.agent))
            if stated.loss is None:
                found.append(say.loss_not_measured())
    return found
