"""What the Print step tells: of the printer, the pieces, and what the print must stand."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import celsius


def wider_than_bed(width: float, bed: float) -> Finding:
    """The mould is wider than the bed, which no cut across the axis mends."""
    return Finding(
        "print.wider-than-bed",
        Level.STOP,
        f"The mould is {width * 1e3:.0f} mm wide; the bed takes {bed * 1e3:.0f} mm.",
        "Cutting a mould across its axis does not make it narrower.",
        ("use a smaller flange", "use a printer with a larger bed"),
    )


def hole_breaks_out(name: str, needed: float, narrowest: float) -> Finding:
    """A hole along the mould would break through its narrowest place."""
    return Finding(
        "print.hole-breaks-out",
        Level.STOP,
        f"The {name} needs {needed * 1e3:.1f} mm of diameter with its walls; the narrowest place "
        f"of the mould has {narrowest * 1e3:.1f} mm.",
        "At least 2 mm of plastic must stay round a hole that runs through the mould.",
        ("make the hole smaller or leave it out", "open the tip wider", "use fewer layers there"),
    )


def flange_too_small(flange: float, base: float) -> Finding:
    """The flange does not stand out from the mould's base."""
    return Finding(
        "print.flange-too-small",
        Level.STOP,
        f"The flange of {flange * 1e3:.1f} mm does not stand out from the mould's base of "
        f"{base * 1e3:.1f} mm.",
        "Its upper face is the datum that lengths are measured from and screws push against.",
        ("make mould.flange.diameter at least 20 mm larger than the base", "leave the flange out"),
    )


def cut(pieces: int, height: float, limit: float, cuts: list[float]) -> Finding:
    """The mould is printed in pieces that are pinned and joined."""
    places = ", ".join(f"{place * 1e3:.0f}" for place in cuts)
    return Finding(
        "print.in-pieces",
        Level.NOTE,
        f"The mould, {height * 1e3:.0f} mm tall, is printed in {pieces} pieces, cut {places} mm "
        "from the base trim line.",
        f"The printer takes {limit * 1e3:.0f} mm. Every cut is square to the axis, clear of all "
        "fits, with dowels that go together one way only.",
        ("join the pieces first; sand, fill and read the joined mould as one",),
    )


def split_in_fit(place: float, fit: str, x: float) -> Finding:
    """A stated cut lies in a fit, or nearly."""
    return Finding(
        "print.split-in-fit",
        Level.STOP,
        f'The cut {place * 1e3:.1f} mm from the base lies in the fit "{fit}" or within 3 mm of it.',
        "A joint leaves a step and a seam of a few hundredths, which the fit would copy.",
        ("move the cut out of the fit", 'let the program choose: mould.split_at = "auto"'),
        (x, x),
    )


def no_room_for_dowels(place: float, diameter: float, x: float) -> Finding:
    """At a cut the dowels find no room between the wall and what runs along the axis."""
    return Finding(
        "print.no-room-for-dowels",
        Level.STOP,
        f"{place * 1e3:.1f} mm from the base the mould has no room for dowels of "
        f"{diameter * 1e3:.1f} mm.",
        "Each needs 2 mm of plastic on every side, to the surface, the holes and its neighbours.",
        (
            "use thinner or fewer dowels: mould.dowels",
            "cut where the mould is wider, and clear of the flange and of the next cut",
        ),
        (x, x),
    )


def cannot_split(height: float, limit: float) -> Finding:
    """No set of allowed cuts makes pieces that fit the printer."""
    return Finding(
        "print.cannot-split",
        Level.STOP,
        f"The mould is {height * 1e3:.0f} mm tall, the printer takes {limit * 1e3:.0f} mm, and no "
        "cuts outside the fits make pieces low enough that have room for their dowels.",
        "A joint in a fit would be copied by the part; a piece without dowels does not line up.",
        (
            "use thinner or fewer dowels: mould.dowels",
            "state the cuts yourself, and accept what they cost: mould.split_at",
            "use a taller printer, or shorten mould.beyond_trim",
        ),
    )


def too_tall(number: int, height: float, limit: float) -> Finding:
    """A piece, with its pins, is taller than the printer."""
    return Finding(
        "print.piece-too-tall",
        Level.STOP,
        f"Piece {number} is {height * 1e3:.1f} mm tall with its pins; the printer takes "
        f"{limit * 1e3:.0f} mm.",
        "The stated cuts lie too far apart.",
        ("add a cut to mould.split_at", 'let the program choose: mould.split_at = "auto"'),
    )


def overhang(number: int, angle: float, steepest: float) -> Finding:
    """A piece has faces that lean more than the printer lays without support."""
    return Finding(
        "print.overhang",
        Level.CAUTION,
        f"Piece {number} has faces that lean {angle:.0f}° from vertical; the printer lays "
        f"{steepest:.0f}° without support.",
        "Plastic laid on air sags; on the outside that is a rough band on the mould.",
        (
            "print with supports there and sand the band",
            "say what the printer really does: printer.steepest",
        ),
    )


def no_room_for_screws(thread: str, needed: float, collar: float) -> Finding:
    """The flange's collar is too narrow for its push-off screws."""
    return Finding(
        "print.no-room-for-screws",
        Level.STOP,
        f"Push-off screws {thread} need a collar of {needed * 1e3:.1f} mm; the flange stands out "
        f"{collar * 1e3:.1f} mm.",
        "Each hole needs 2 mm of plastic to the mould and to the rim.",
        ("make mould.flange.diameter larger", "use a smaller thread", "leave the screws out"),
    )


def wall_buckles(
    pressure: float, bag: float, factor: float, asked: float, warm: float, bay: float
) -> Finding:
    """A hollow mould's wall would buckle under the vacuum bag."""
    return Finding(
        "print.wall-buckles",
        Level.STOP,
        f"Under the bag the hollow wall buckles at {pressure * 1e-3:.0f} kPa when it is "
        f"{celsius(warm)}: {factor:.1f} times the {bag * 1e-3:.0f} kPa of a full vacuum; "
        f"{asked:.0f} times are asked.",
        f"Its longest bare bay is {bay * 1e3:.0f} mm. Prints are out of round and creep, which "
        "classical buckling does not know.",
        (
            "make mould.core.hollow thicker: the load grows with its power of 2.5",
            "bring the diaphragms closer: mould.core.bay",
            "bag through the bore, so that the pressure is the same inside, and accept this stop",
        ),
    )


def tape_needs_heat(warm: float, least: float, limit: float) -> Finding:
    """Shrink tape is asked for, but nothing in the schedule is warm enough to shrink it."""
    return Finding(
        "print.tape-needs-heat",
        Level.CAUTION,
        f"Shrink tape pulls tight from {celsius(least)}; the warmest hour of the schedule "
        f"has {celsius(warm)}.",
        f"Heat that the schedule does not name is not judged; the mould gives way under load "
        f"from {celsius(limit)}, and a heat gun passes that in seconds.",
        ("write the warm hours under [[schedule]]", "use peel ply instead"),
    )


def infill_shows(wall: float) -> Finding:
    """The infill behind thin walls shows on the surface."""
    return Finding(
        "print.infill-shows",
        Level.NOTE,
        f"Behind {wall * 1e3:.1f} mm of walls the infill's pattern may show on the surface.",
        "Walls sink a little between the lines that carry them, more so under a bag or in heat.",
        ("print four walls or more", "sand with a stiff block across the pattern"),
    )
