"""What one table of a job cannot know alone: whether the tables agree with each other."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from itertools import combinations, pairwise

from mandrelwright.job.assembly import Assembly
from mandrelwright.job.curing import schedule_errors
from mandrelwright.job.layup import Position
from mandrelwright.job.materials import Library
from mandrelwright.job.nets import read_net
from mandrelwright.job.sections import AnyNose
from mandrelwright.job.shelf import nearest
from mandrelwright.job.spec import Job
from mandrelwright.job.tooling import Smooth
from mandrelwright.job.values import InputError, Keys
from mandrelwright.physics import braid, profiles
from mandrelwright.quantities import show

SAME = 1e-6  # m: diameters that differ by more do not meet, places beyond it lie outside


def check_job(job: Job) -> list[InputError]:
    """Everything in which the job contradicts itself."""
    return [error for check in _CHECKS for error in check(job)]


def check_names(job: Job, library: Library) -> list[InputError]:
    """Every name in the job that the material library does not hold, with the nearest ones."""
    wanted: list[Wanted] = [
        ("plastic", job.mould.plastic, ("mould", "plastic"), library.plastics),
        ("compaction", job.compaction.method, ("compaction", "method"), library.compactions),
        ("release system", job.release.system, ("release", "system"), library.releases),
        ("resin", job.resin.name, ("resin", "name"), library.resins),
        *(
            ("fibre", sleeve.fibre, ("sleeve", number, "fibre"), library.fibres)
            for number, sleeve in enumerate(job.sleeves)
        ),
        *(
            ("sleeve", sleeve.library, ("sleeve", number, "library"), library.sleeves)
            for number, sleeve in enumerate(job.sleeves)
        ),
        *(
            ("fibre", cloth.fibre, ("cloth", number, "fibre"), library.fibres)
            for number, cloth in enumerate(job.cloths)
        ),
    ]
    if job.assembly is not None:
        wanted += _glue_and_pins(job.assembly, library)
    unknown = [
        InputError(f"is no {what} of the material library", nearest(name, known), at)
        for what, name, at, known in wanted
        if name is not None and name not in known
    ]
    return [*unknown, *_vapours(job, library), *([] if unknown else _tows_fit(job, library))]


Wanted = tuple[str, str | None, Keys, Mapping[str, object]]


def _glue_and_pins(assembly: Assembly, library: Library) -> Iterator[Wanted]:
    """Names of glue and pins that the library must hold."""
    bond, pins = assembly.bond, assembly.pins
    if bond is not None:
        yield "adhesive", bond.adhesive, ("assembly", "bond", "adhesive"), library.adhesives
    if pins is not None:
        yield "pin", pins.material, ("assembly", "pins", "material"), library.pins


def _joined_at_a_fit(job: Job) -> Iterator[InputError]:
    """A bond or pins name a fit that slides, and lie within it."""
    assembly = job.assembly
    fits = {fit.name: fit for fit in job.fits if fit.kind != "flush"}
    for key in ("bond", "pins"):
        joint = getattr(assembly, key, None)
        if joint is None:
            continue
        fit = fits.get(joint.fit)
        if fit is None:
            remedy = nearest(joint.fit, fits) if fits else "add a bore or a shoulder"
            yield InputError(
                "is no bore or shoulder of this file", remedy, ("assembly", key, "fit")
            )
            continue
        long = fit.to_base.value - fit.from_base.value
        reach = joint.length if key == "bond" else joint.edge
        if reach is not None and reach.value > long:
            yield InputError(
                f"must be at most the fit's length, {show(long)}",
                "measure it again from the part's end",
                ("assembly", key, "length" if key == "bond" else "edge"),
            )


def _tows_fit(job: Job, library: Library) -> Iterator[InputError]:
    """A tow must be narrower than the tow length between its crossings."""
    for number, sleeve in enumerate(job.sleeves):
        net = read_net(sleeve, library)
        most = float(braid.crossing_length(net.diameter_at_45.value / 2.0, net.tows))
        if net.narrowest_tow >= most:
            yield InputError(
                f"cannot be woven: its tows are {show(net.narrowest_tow)} wide and cross every "
                f"{show(most)}",
                "count the tows, measure their width and the sleeve again",
                ("sleeve", number),
            )


def _vapours(job: Job, library: Library) -> Iterator[InputError]:
    """A solvent must be one that the library knows to smooth some plastic."""
    known = {
        f"{solvent} vapour, {state}": None
        for plastic in library.plastics.values()
        for solvent in plastic.words["smooths_with"].words
        for state in ("cold", "hot")
    }
    for number, step in enumerate(job.surface):
        if isinstance(step, Smooth) and step.agent not in known:
            yield InputError(
                "smooths no plastic of the library",
                nearest(step.agent, known),
                ("surface", number, "with"),
            )


def _sections_meet(job: Job) -> Iterator[InputError]:
    for number, (front, back) in enumerate(pairwise(job.sections), start=1):
        before, after = front.ends[1], back.ends[0]
        if isinstance(back, AnyNose):
            yield InputError(
                "is a nose, which only the first section can be",
                "put it first or draw a transition",
                ("section", number, "shape"),
            )
        elif abs(after - before) > SAME:
            yield InputError(
                f'begins at {show(after, digits=3)} where section "{front.name}" ends at '
                f"{show(before, digits=3)}",
                "let the two diameters be the same, or put a transition between them",
                ("section", number),
            )


def _tip_is_round(job: Job) -> Iterator[InputError]:
    nose = job.sections[0]
    if not isinstance(nose, AnyNose) or nose.tip.blunt is None:
        return
    length, radius, sphere = nose.length.value, nose.base.value / 2.0, nose.tip.blunt.value
    try:
        profiles.blunting(nose.shape, length, radius, sphere, nose.parameter)
    except ValueError:
        yield InputError(
            "is the radius of no sphere that touches this profile",
            "a blunter profile needs a larger radius, a short one a smaller",
            ("section", 0, "tip", "blunt"),
        )


def _one_fit_leads(job: Job) -> Iterator[InputError]:
    leading = [number for number, fit in enumerate(job.fits) if fit.leads]
    names = ", ".join(f'"{job.fits[number].name}"' for number in leading)
    if not leading:
        yield InputError(
            "leaves no fit that leads",
            "set leads = true at the one that must fit",
            ("fit", 0, "leads"),
        )
    for number in leading[1:]:
        yield InputError(
            f"is one of {len(leading)} leading fits ({names}); one sets the mould",
            "keep leads = true at the one that must fit",
            ("fit", number, "leads"),
        )


def _inside_part(job: Job) -> Iterator[InputError]:
    end = job.part_length + SAME
    limit = f"lies outside the part, which is {show(job.part_length)} long"
    for number, fit in enumerate(job.fits):
        if fit.to_base.value > end:
            yield InputError(limit, _COUNTED, ("fit", number, "to_base"))
    for number, antenna in enumerate(job.antennas):
        if antenna.to_base.value > end:
            yield InputError(limit, _COUNTED, ("antenna", number, "to_base"))
        if antenna.from_base.value >= antenna.to_base.value:
            yield InputError(
                f"must be below to_base, {show(antenna.to_base.value)}",
                _COUNTED,
                ("antenna", number, "from_base"),
            )
    for at, position in _layer_ends(job):
        if position.from_base is not None and position.from_base.value > end:
            yield InputError(limit, _COUNTED, at)


_COUNTED = "count from the base towards the tip"


def _layer_ends(job: Job) -> Iterator[tuple[Keys, Position]]:
    for number, layer in enumerate(job.layers):
        yield ("layer", number, "from"), layer.start
        yield ("layer", number, "to"), layer.stop


def _diameters_exist(job: Job) -> Iterator[InputError]:
    """A layer that ends at a diameter needs one place on the drawn surface that has it."""
    sizes = [size for section in job.sections for size in section.ends]
    least, most = min(sizes), max(sizes)
    for at, position in _layer_ends(job):
        if position.diameter is None:
            continue
        if all(section.shape == "cylinder" for section in job.sections):
            yield InputError(
                "is no place on a part that is one cylinder",
                'give the distance from the base, like "120 mm"',
                at,
            )
        elif not least <= position.diameter.value <= most and _monotone(job):
            yield InputError(
                f"must be from {show(least)} to {show(most)}, the drawn diameters",
                'give one of these, or the distance from the base, like "120 mm"',
                (*at, "diameter"),
            )


def _monotone(job: Job) -> bool:
    """Whether no section is wider or narrower inside than at its ends."""
    return all(section.shape not in ("measured", "secant ogive") for section in job.sections)


def _names_once(job: Job) -> Iterator[InputError]:
    for key, rows in (
        ("section", job.sections),
        ("fit", job.fits),
        ("sleeve", job.sleeves),
        ("cloth", job.cloths),
        ("antenna", job.antennas),
        ("assembly.item", job.assembly.items if job.assembly else ()),
    ):
        seen: set[str] = set()
        for number, row in enumerate(rows):
            if row.name in seen:
                yield InputError(
                    f"is the name of more than one {key}",
                    "give each its own name",
                    (*key.split("."), number, "name"),
                )
            seen.add(row.name)


def _textiles_known(job: Job) -> Iterator[InputError]:
    shelves: dict[str, Mapping[str, object]] = {
        "sleeve": {sleeve.name: sleeve for sleeve in job.sleeves},
        "cloth": {cloth.name: cloth for cloth in job.cloths},
    }
    for number, layer in enumerate(job.layers):
        for kind, shelf in shelves.items():
            name = getattr(layer, kind)
            if name is not None and name not in shelf:
                remedy = nearest(name, shelf) if shelf else f"add a [[{kind}]] of this name"
                yield InputError(f"is no {kind} of this file", remedy, ("layer", number, kind))


def _overlaps_go_round(job: Job) -> Iterator[InputError]:
    """A cloth's overlap must be shorter than the way round, where the job itself tells it.

    Places between sections' ends are looked at when the cloth is cut.
    """
    most = max(size for section in job.sections for size in section.ends)
    for number, layer in enumerate(job.layers):
        stated = [end.diameter.value for end in (layer.start, layer.stop) if end.diameter]
        round_it = math.pi * min([most, *stated])
        if layer.cloth is not None and layer.overlap.value >= round_it:
            yield InputError(
                f"must be below the way round the part there, {show(round_it)}",
                "use a narrower overlap, or turns = 2 for two layers in one piece",
                ("layer", number, "overlap"),
            )


def _fits_apart(job: Job) -> Iterator[InputError]:
    for (_, one), (number, two) in combinations(enumerate(job.fits), 2):
        inner = "flush" not in (one.kind, two.kind)
        overlap = (
            one.from_base.value < two.to_base.value and two.from_base.value < one.to_base.value
        )
        if overlap and (one.kind == two.kind or (inner and job.part.describes == "inside")):
            yield InputError(
                f'overlaps fit "{one.name}" on the same surface',
                "let one end where the other begins",
                ("fit", number, "from_base"),
            )


def _mould_can_be(job: Job) -> Iterator[InputError]:
    sizes = [size for section in job.sections for size in section.ends]
    base = sizes[-1]
    hollow, flange, rod = job.mould.core.hollow, job.mould.flange, job.mould.pull_rod
    if hollow and hollow.value >= max(sizes) / 2.0:
        yield InputError(
            f"must be below the radius, {show(max(sizes) / 2.0)}",
            'use a thinner wall, or core = "solid"',
            ("mould", "core", "hollow"),
        )
    if flange and flange.diameter.value <= base:
        yield InputError(
            f"must be above the base, {show(base)}",
            "use a wider flange, or none",
            ("mould", "flange", "diameter"),
        )
    if rod and rod.value >= base / 2.0:
        yield InputError(
            f"must be below half the base, {show(base / 2.0)}",
            "use a thinner rod",
            ("mould", "pull_rod"),
        )
    bed = min(side.value for side in job.printer.bed)
    if job.mould.dowels.diameter.value >= bed:
        yield InputError(
            f"must be below the bed, {show(bed)}",
            "use dowels that fit between the mould's wall and its holes",
            ("mould", "dowels", "diameter"),
        )
    if job.mould.core.hollow and job.mould.core.bay.value < 4.0 * job.mould.core.diaphragm.value:
        yield InputError(
            f"must be at least four diaphragms, {show(4.0 * job.mould.core.diaphragm.value)}",
            "use thinner diaphragms or longer bays",
            ("mould", "core", "bay"),
        )
    if job.printer.layer.value > job.printer.line.value:
        yield InputError(
            f"must be at most the line width, {show(job.printer.line.value)}",
            "swap or correct them",
            ("printer", "layer"),
        )


_CHECKS: tuple[Callable[[Job], Iterator[InputError]], ...] = (
    _sections_meet,
    _tip_is_round,
    _one_fit_leads,
    _inside_part,
    _diameters_exist,
    _names_once,
    _textiles_known,
    _overlaps_go_round,
    _fits_apart,
    _mould_can_be,
    _joined_at_a_fit,
    lambda job: schedule_errors(job.schedule, job.shop.temperature.value),
    lambda job: schedule_errors(job.release_steps, job.shop.temperature.value, "release_steps"),
)
