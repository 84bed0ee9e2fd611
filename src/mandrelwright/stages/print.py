"""Step 9, Print: the size map applied, the mould as it goes to the printer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.findings import print as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.spec import Job
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.record import derived, result
from mandrelwright.stages.sizes import SizeMap

Array = NDArray[np.float64]

HOLE_WALL = 2e-3  # m; least plastic round a hole: four lines of a 0.45 mm nozzle, no source
FILE, ACROSS = SizeMap.file_of_ready, "fit.sizes.shrink_across"


@dataclass(frozen=True)
class PrintForm:
    """The compensated mould, upright on its base; SI, sizes as in the print file."""

    height: Array = result("height above the datum face", "mm", FILE, ("fit.file",))
    radius: Array = result("compensated radius", "mm", FILE, ("fit.file",))
    flange: tuple[float, float] | None = result(
        "radius and thickness of the base flange", "mm", uses=("job.mould.flange", ACROSS)
    )
    pull_rod: float | None = result(
        "hole through the axis", "mm", uses=("job.mould.pull_rod", ACROSS)
    )
    vent: float | None = result("air hole to the tip", "mm", uses=("job.mould.vent", ACROSS))

    @property
    @derived("mm", None, "print.height", "print.flange")
    def total_height(self) -> float:
        """Height with the flange, m."""
        return float(self.height[-1]) + (self.flange[1] if self.flange else 0.0)

    @property
    @derived("mm", None, "print.radius", "print.flange")
    def width(self) -> float:
        """Largest diameter, m."""
        widest = float(self.radius.max())
        return 2.0 * max(widest, self.flange[0] if self.flange else 0.0)

    def holes(self) -> tuple[tuple[float, float], ...]:
        """Holes along the mould: distance from the axis and diameter of each, m.

        The pull rod is on the axis; the vent beside it, midway to the narrowest radius, or on
        the axis when there is no rod.
        """
        holes = [] if self.pull_rod is None else [(0.0, self.pull_rod)]
        if self.vent is not None:
            beside = 0.0
            if self.pull_rod is not None:
                beside = 0.5 * (self.pull_rod / 2.0 + float(self.radius.min()))
            holes.append((beside, self.vent))
        return tuple(holes)

    def hole_room(self) -> list[tuple[str, float]]:
        """Each hole by name with the diameter it needs round the axis, walls included, m."""
        rod = 0.0 if self.pull_rod is None else self.pull_rod
        room = [("pull rod", rod + 2.0 * HOLE_WALL)] if rod else []
        if self.vent is not None:
            if rod:
                room.append(("vent beside the pull rod", rod + 2.0 * self.vent + 4.0 * HOLE_WALL))
            else:
                room.append(("vent", self.vent + 2.0 * HOLE_WALL))
        return room


def form_print(job: Job, fit: Fit) -> PrintForm:
    """Turn the print file's curve upright; holes and flange take the print's shrink too.

    in the file = as stated/(1 − s), s shrink across.
    """
    file, across = fit.file, 1.0 - fit.sizes.shrink_across
    height = (file.x[-1] - file.x)[::-1]
    flange, mould = job.mould.flange, job.mould
    return PrintForm(
        height,
        file.r[::-1],
        None if flange is None else (flange.diameter.value / 2.0 / across, flange.thickness.value),
        None if mould.pull_rod is None else mould.pull_rod.value / across,
        None if mould.vent is None else mould.vent.value / across,
    )


def check_print(job: Job, form: PrintForm) -> list[Finding]:
    """The mould against the printer's bed; holes and flange against the mould."""
    found = []
    bed = min(side.value for side in job.printer.bed)
    if form.width > bed:
        found.append(say.wider_than_bed(form.width, bed))
    narrowest = 2.0 * float(form.radius.min())
    for name, needed in form.hole_room():
        if needed > narrowest:
            found.append(say.hole_breaks_out(name, needed, narrowest))
            break
    if form.flange is not None and form.flange[0] <= form.radius[0]:
        found.append(say.flange_too_small(2.0 * form.flange[0], 2.0 * float(form.radius[0])))
    return found
