"""What the Mould step tells: coming off, holes, marks, ridges and slipping layers."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level


def undercut(depth: float, start: float, stop: float, base: float, leaves: str) -> Finding:
    """The bore cannot be swept off the mould."""
    return Finding(
        "mould.undercut",
        Level.STOP,
        f"The part cannot come off: from {(base - stop) * 1e3:.0f} to "
        f"{(base - start) * 1e3:.0f} mm from the base the mould is up to {depth * 1e3:.3f} mm "
        "smaller (radius) than a place the bore has to pass.",
        f"The part leaves {leaves}; a rebate or hollow there locks it on like a barb.",
        (
            "put the short layer on the outside (rebate = false) and fair it there",
            "run the layer full length, from tip to end",
            "make the ramp no steeper than the surface's own slope (a longer `ramp`), or move "
            "the layer's end to steeper ground",
            "split the mould lengthwise there (then this stop can be accepted with a reason)",
        ),
        (start, stop),
    )


def flange_blocks() -> Finding:
    """A flange stands in the way of a part that leaves basewards."""
    return Finding(
        "mould.flange-blocks",
        Level.STOP,
        "The base flange is in the way: the part is to leave basewards.",
        "The flange is larger than the bore and sits on the side the part leaves by.",
        ("leave out mould.flange", 'let the part leave tipwards (leaves = "tipwards")'),
    )


def sloping_mark(name: str, x: float, slope: float) -> Finding:
    """A caliper mark lies on a slope, so its position matters."""
    return Finding(
        "mould.sloping-mark",
        Level.NOTE,
        f"Mark {name} lies on a slope: 1 mm of position there is {2.0 * abs(slope):.2f} mm "
        "of diameter.",
        "The jaws of a caliper do not know where along the mould they are.",
        ("scribe the mark on the print and read against a stop on the datum face",),
        (x, x),
    )


def ridges(
    count: int, base: float, height: float, width: float, stretch: tuple[float, float]
) -> Finding:
    """Layers that end inside the part leave ridges outside that have to be faired."""
    near, far = (base - stretch[1]) * 1e3, (base - stretch[0]) * 1e3
    where = f"{near:.0f} mm" if far - near < 1.0 else f"{near:.0f} to {far:.0f} mm"
    ends = "one layer end leaves a ridge" if count == 1 else f"{count} layer ends leave ridges"
    return Finding(
        "mould.ridges",
        Level.NOTE,
        f"Inside the part, {where} from the base, {ends} of up to {height * 1e3:.2f} mm over "
        f"{width * 1e3:.0f} mm to fair outside.",
        "A cut sleeve end is square and ragged by about 5 mm; the mould does not follow it.",
        ("fill the low side and sand to a straight edge; do not cut into the outer layer",),
        stretch,
    )


def rebate_to_earn(
    count: int, label: str, x: float, ragged: float, slid: float, faired: float
) -> Finding:
    """A rebate is only as good as the place of the cut end that lies in it."""
    earns = slid < faired
    return Finding(
        "mould.rebate-to-earn",
        Level.NOTE if earns else Level.CAUTION,
        f"{'One layer end lies' if count == 1 else f'{count} layer ends lie'} in a rebate. "
        f"{ragged * 1e3:.0f} mm off its place, that of layer {label} leaves a ridge of "
        f"{slid * 1e3:.2f} mm; faired outside without a rebate it leaves {faired * 1e3:.2f} mm.",
        "A cut sleeve end wanders by that much; "
        + ("the long ramp forgives it." if earns else "the short ramp does not forgive it."),
        ("tie this end on its mark and do not let it slide",)
        if earns
        else ("leave the rebate out (rebate = false)", "give it a longer ramp and tie its end"),
        (x, x),
    )


def cannot_grow(label: str, side: str, x: float, growth: float, slip: float) -> Finding:
    """A layer grows more in length than its free end may move."""
    return Finding(
        "mould.cannot-grow",
        Level.CAUTION,
        f"Layer {label} grows {growth * 1e3:.0f} mm in length while it is squeezed, but its free "
        f"{side}ward end may move only {slip * 1e3:.0f} mm.",
        "Wet layers below lose thickness; a sleeve on a smaller radius gets longer. Tied at both "
        "ends it wrinkles.",
        (
            "squeeze the layers below before this one goes on",
            f"cut this layer's {side}ward end {growth * 1e3:.0f} mm short and let it slide",
            "give the mould a longer run beyond the trim line",
        ),
        (x, x),
    )
