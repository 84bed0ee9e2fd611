"""Whether the pieces can be printed, and whether the printed mould stands the cure."""

from __future__ import annotations

import math

from mandrelwright.findings import print as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.buckling import bay_pressure, warm_modulus
from mandrelwright.stages.cuts import CLEAR_OF_FIT, SKIN
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.segments import TAP_DRILLS, Segments
from mandrelwright.stages.shape import Shape

FULL_VACUUM = 101_325.0  # Pa; standard atmosphere, exact by definition
ASKED = 3.0  # times the bag's pressure that a wall must bear; knock-down, creep, prints
SLACK = math.radians(0.5)  # of the printer's angle
FEWEST_WALLS = 4  # that hide the infill; common practice, no source


def check_segments(
    job: Job, shape: Shape, form: PrintForm, segments: Segments, library: Library
) -> list[Finding]:
    """The cuts, the room for dowels and screws, heights and overhangs; then heat and the bag."""
    found = _cuts(job, form, segments)
    if job.mould.split_at != "auto":
        found += _stated_in_fits(job, shape)
    found += [
        say.no_room_for_dowels(
            joint.from_base, job.mould.dowels.diameter.value, shape.base - joint.from_base
        )
        for joint in segments.joints
        if not joint.angles
    ]
    steepest = job.printer.steepest.value
    found += [
        say.overhang(number, math.degrees(piece.overhang), math.degrees(steepest))
        for number, piece in enumerate(segments.pieces, 1)
        if piece.overhang > steepest + SLACK
    ]
    return found + _screws(job, form) + check_heat(job, segments, library)


def _cuts(job: Job, form: PrintForm, segments: Segments) -> list[Finding]:
    limit = job.printer.height.value
    if not segments.complete:
        return [say.cannot_split(form.total_height, limit)]
    tall = [
        say.too_tall(number, piece.printed_height, limit)
        for number, piece in enumerate(segments.pieces, 1)
        if piece.printed_height > limit
    ]
    if not segments.joints:
        return tall
    places = sorted(joint.from_base for joint in segments.joints)
    return [*tall, say.cut(len(segments.pieces), form.total_height, limit, places)]


def _stated_in_fits(job: Job, shape: Shape) -> list[Finding]:
    found = []
    for place in job.mould.split_at:
        x = job.from_tip(place.value) if not isinstance(place, str) else math.nan
        for fit in shape.fits:
            if fit.start - CLEAR_OF_FIT < x < fit.stop + CLEAR_OF_FIT:
                found.append(say.split_in_fit(shape.base - x, fit.name, x))
                break
    return found


def _screws(job: Job, form: PrintForm) -> list[Finding]:
    """Room in the collar: hole and a skin on either side."""
    flange = job.mould.flange
    if flange is None or form.flange is None or flange.push_off_screws is None:
        return []
    needed = TAP_DRILLS[flange.thread] + 2.0 * SKIN
    collar = form.flange[0] - float(form.radius[0])
    return [say.no_room_for_screws(flange.thread, needed, collar)] if collar < needed else []


def check_heat(job: Job, segments: Segments, library: Library) -> list[Finding]:
    """The warmest hour against the plastic, the tape and the bag; infill that shows."""
    plastic = library.plastics[job.mould.plastic]
    compaction, warm = library.compactions[job.compaction.method], warmest(job)
    gives_way = plastic["deflection_high"].value
    found = []
    least = compaction.get("least_temperature")
    if least is not None and warm < least.value:
        found.append(say.tape_needs_heat(warm, least.value, gives_way))
    if job.compaction.method == "vacuum bag" and segments.bay > 0.0:
        pressure = wall_bears(job, segments, library)
        if pressure < ASKED * FULL_VACUUM:
            factor = pressure / FULL_VACUUM
            found.append(say.wall_buckles(pressure, FULL_VACUUM, factor, ASKED, warm, segments.bay))
    core = job.mould.core
    if core.walls is not None and core.walls < FEWEST_WALLS:
        found.append(say.infill_shows(core.walls * job.printer.line.value))
    return found


def warmest(job: Job) -> float:
    """Highest temperature of the schedule, the shop and the setting, K."""
    shop = job.shop.temperature.value
    stays = [shop if isinstance(stay.at, str) else stay.at.value for stay in job.schedule]
    stated = job.stated.set_temperature
    return max([shop, *stays, *([] if stated is None else [stated.value])])


def wall_bears(job: Job, segments: Segments, library: Library) -> float:
    """Outside pressure at which the longest bay buckles in the warmest hour, Pa.

    The modulus is the warm plastic's, less what printing takes across the layers.
    """
    plastic, core = library.plastics[job.mould.plastic], job.mould.core
    printed = library.practice["printed plastic"]["modulus_across_layers"].value
    modulus = warm_modulus(
        warmest(job),
        plastic["modulus"].value,
        plastic["deflection_high"].value,
        plastic["deflection_low"].value,
    )
    wall = core.hollow.value if core.hollow else 0.0
    return float(
        bay_pressure(
            printed * modulus, plastic["poisson"].value, segments.bay_radius, wall, segments.bay
        )
    )
