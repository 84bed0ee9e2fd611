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
