"""What the Print step tells: moulds that the printer cannot make in one piece."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level


def wider_than_bed(width: float, bed: float) -> Finding:
    """The mould is wider than the bed, which no cut across the axis mends."""
    return Finding(
        "print.wider-than-bed",
        Level.STOP,
        f"The mould is {width * 1e3:.0f} mm wide; the bed takes {bed * 1e3:.0f} mm.",
        "Cutting a mould across its axis does not make it narrower.",
        ("use a smaller flange", "use a printer with a larger bed"),
    )


def taller_than_printer(height: float, limit: float, pieces: int) -> Finding:
    """The mould is taller than the printer and has to be cut into segments."""
    return Finding(
        "print.taller-than-printer",
        Level.CAUTION,
        f"The mould is {height * 1e3:.0f} mm tall; the printer takes {limit * 1e3:.0f} mm: print "
        f"it in at least {pieces} pieces.",
        "This version writes the mould as one solid and does not cut it.",
        (
            "cut it square to the axis, never inside a fit, and pin the pieces",
            "prepare and read the joined mould as one",
        ),
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
