"""Step 6, Surface: what every treatment does to the diameter, and how rough the print is."""

from __future__ import annotations

from dataclasses import dataclass, replace

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

PRACTICE = "materials.practice.roughness."
LINES = ("wall", "stair", "floor")
MODEL_DOUBT = 0.5  # relative spread of a levelling loss that no coupon has told


@dataclass(frozen=True)
class SizeChange:
    """What one treatment or film adds to the diameter: mean, spread (m), and where it is from."""

    label: str
    diameter: float = result("what it adds to the diameter", "mm", spread="spread")
    spread: float = result("its standard uncertainty", "mm")
    basis: str = result("how it is known")
    source: str = result("who says so")
    uses: tuple[str, ...] = ()


@dataclass(frozen=True)
class Surface:
    """Size changes in order (before wax: ``treatments``; wax and film: ``films``), roughness."""

    treatments: tuple[SizeChange, ...] = result("change of diameter by treatment")
    films: tuple[SizeChange, ...] = result("wax and release film on the diameter")
    roughness: Array = result(
        "Ra of the print before any treatment",
        "um",
        roughness.layer_line_roughness,
        ("job.printer.layer", "mould.slope", *(f"{PRACTICE}{key}" for key in LINES)),
    )


def treat_surface(job: Job, mould: Mould, library: Library) -> Surface:
    """Size change and spread of each treatment and film, and the roughness of the print.

    change = −2·off by sanding, 2·adds by filling, −(2h/3)(1 − e^(−t/τ)) − run-off by smoothing
    unless a coupon tells, 2·coats·coat by wax, 2·thickness by film; all on diameter, m.
    """
    ra = _roughness(job, mould, library)
    treatments = []
    for row, stated in enumerate(job.surface):
        if stated.do != "wax":
            change = _change(stated, f"job.surface[{row + 1}]", float(ra.min()), library)
            before = sum(other.do == stated.do for other in job.surface[:row])
            label = f"{change.label} {before + 1}" if before else change.label
            treatments.append(replace(change, label=label))
    return Surface(tuple(treatments), tuple(_films(job, library)), ra)


def _change(stated: Stated, key: str, ra: float, library: Library) -> SizeChange:
    """One treatment other than wax; ``key`` is its place in the job."""
    if stated.do == "sand":
        off = stated.off
        return SizeChange(
            "sanding", -2.0 * off.value, 2.0 * off.spread, "stated", "job", (f"{key}.off",)
        )
    if stated.do == "fill":
        adds = stated.adds
        return SizeChange(
            "filler", 2.0 * adds.value, 2.0 * adds.spread, "stated", "job", (f"{key}.adds",)
        )
    assert isinstance(stated, Smooth)
    if stated.loss is not None:
        loss = stated.loss
        told = "measured", "coupon in the job", (f"{key}.loss",)
        return SizeChange("smoothing", -loss.value, loss.spread, *told)
    practice = library.practice["smoothing"]
    warm = "hot" in stated.agent or "warm" in stated.agent
    tau = practice["time_constant_hot" if warm else "time_constant_cold"]
    share = roughness.levelled_share(stated.time.value, tau.value)
    levelled = float(roughness.levelling_loss(roughness.scallop_height(ra), share))
    extra = practice["extra_loss"]
    spread = float(np.hypot(MODEL_DOUBT * levelled, extra.spread))
    uses = f"{key}.time", f"materials.{tau.path}", f"materials.{extra.path}", "surface.roughness"
    change = -levelled - extra.value
    return SizeChange("smoothing", change, spread, extra.basis, extra.source, uses)


def _films(job: Job, library: Library) -> list[SizeChange]:
    """Wax coats and the release film, on diameter; wax as release system counts once."""
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
    stated = job.release.film
    if stated is not None:
        told = "stated", "job", ("job.release.film",)
        out.append(SizeChange("release film", 2.0 * stated.value, 2.0 * stated.spread, *told))
    else:
        film = library.releases[job.release.system]["film"]
        read = (
            film.basis,
            film.source,
            ("job.release.system", f"materials.releases.{job.release.system}.film"),
        )
        out.append(SizeChange("release film", 2.0 * film.value, 2.0 * film.spread, *read))
    return out


def _roughness(job: Job, mould: Mould, library: Library) -> Array:
    """Ra of the print at every place of the mould (m), printed upright."""
    practice = library.practice["roughness"]
    return roughness.layer_line_roughness(
        job.printer.layer.value,
        np.abs(np.arctan(mould.slope)),
        *(practice[key].value for key in LINES),
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
