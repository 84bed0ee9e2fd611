"""What cloth and its patterns tell: strain left over, a roll too narrow, overlaps that pile up."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level


def folds(
    label: str, gores: int, strain: float, takes: float, needed: int, most: int, x: float
) -> Finding:
    """So few gores leave more strain along their edges than cloth takes."""
    remedy = f"cut it in gores = {needed}"
    if needed > most:
        remedy = (
            f"a piece cut in gores = {most} comes nearest; a sleeve follows such a shape better"
        )
    return Finding(
        "patterns.folds",
        Level.CAUTION,
        f"{label}: {gores} gores leave {abs(strain):.1%} of length over along their edges; cloth "
        f"takes about {takes:.1%} without a fold.",
        "The surface curves both ways, and flat cloth cannot; what is left falls with the square "
        "of the number of gores.",
        (remedy, "dart or ease the edges while wet, and feel for folds before the next layer"),
        (x, x),
    )


def too_narrow(label: str, width: float, roll: float, cloth: str) -> Finding:
    """A piece is wider than its roll."""
    return Finding(
        "patterns.too-narrow",
        Level.CAUTION,
        f"{label} is {width * 1e3:.0f} mm across its warp, and {cloth} is {roll * 1e3:.0f} mm "
        "wide.",
        "The piece does not lie on the roll in one.",
        (
            "use a wider roll, another angle, or fewer turns and more layers",
            "join it along a thread with the same overlap, away from the seam",
        ),
    )


def overlaps_meet(one: str, two: str) -> Finding:
    """Overlaps of two successive layers lie on each other."""
    return Finding(
        "patterns.overlaps-meet",
        Level.NOTE,
        f"The overlap of {two} lies partly on that of {one}.",
        "Four thicknesses then lie where two are meant, and the wall is stiff on one side.",
        ("use a narrower overlap or fewer gores",),
    )


def ridge(count: int, height: float) -> Finding:
    """Overlaps stand proud of the outside."""
    return Finding(
        "patterns.ridge",
        Level.NOTE,
        f"Where cloth overlaps ({count} {'piece' if count == 1 else 'pieces'}) the wall is "
        f"{height * 1e3:.2f} mm thicker.",
        "Cloth lies twice there; thickness and fits are worked out without it.",
        (
            "turn the overlap away from where a flush fit is judged, or sand it there",
            "stagger the seams as the patterns say",
        ),
    )
