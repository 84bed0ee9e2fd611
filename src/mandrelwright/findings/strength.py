"""What the strength of the finished wall tells: where it first fails, how, and how near that is."""

from __future__ import annotations

import math

from mandrelwright.findings.finding import Finding, Level

_PROVE = "load the part on the ground first, a little beyond what the flight asks, and listen"

_EASE = (
    "chamfer the coupler's end inside, or a soft glue over its last millimetres",
    "a strip of cloth along the axis where it bends, longer ramps where layers end",
)


def fails(
    case: str,
    factor: float,
    spread: float,
    how: str,
    from_base: float,
    flies: bool,
    kept: float,
) -> Finding:
    """A case asks more than the wall bears, one spread taken off."""
    verb = "fails at" if factor < 1.0 else "may fail: it is good for"
    cracked = f"{_cap(case)}: {how} before any load, {_place(from_base)}: what cure left is enough."
    return Finding(
        "strength.fails",
        Level.STOP if flies else Level.CAUTION,
        f"{_cap(case)}: the wall {verb} {factor:.2g} ± {spread:.2g} times this load, {how}, "
        f"{_place(from_base)}."
        if factor > 0.0
        else cracked,
        f"Less one standard uncertainty that is less than the load itself. The resin keeps "
        f"{100.0 * kept:.0f} % of its strength as warm as it is then.",
        (
            "more layers there, or a braid angle nearer to the load",
            "a post-cure where the wall is warm, a lighter colour where the sun warms it",
            _PROVE,
        ),
    )


def little_reserve(
    case: str, reserve: float, wanted: float, how: str, from_base: float, kept: float
) -> Finding:
    """A case leaves less reserve than is asked of an unproved part."""
    return Finding(
        "strength.little-reserve",
        Level.CAUTION,
        f"{_cap(case)}: reserve factor {reserve:.2f}, {how}, {_place(from_base)}.",
        f"An unproved part is asked for {wanted:.1f} after one spread is taken off. The resin "
        f"keeps {100.0 * kept:.0f} % of its strength as warm as it is then.",
        ("a layer more there", _PROVE),
    )


def near_glass(
    case: str, factor: float, share: float, below: float, doubt: float, chance: float, near: bool
) -> Finding:
    """A load factor that hangs on how well the glass transition is known."""
    return Finding(
        "strength.near-glass",
        Level.CAUTION if near else Level.NOTE,
        f"{_cap(case)}: a load factor of {factor:.1f} that one step of heat moves by "
        f"{100.0 * share:.0f} %. The wall is {below:.0f} K ± {doubt:.0f} below its glass "
        "transition where it fails first.",
        f"What resin bears falls to next to nothing at its glass transition, and steeper the "
        f"nearer; {_hundred(chance)} such walls are past it then. The step: one standard "
        "uncertainty each of glass transition, warmth and loss to heat.",
        (
            "measure the glass transition of a sample that was cured along",
            "a post-cure moves it away; a lighter colour or shade keep the wall cooler",
        ),
    )


def shell_fails(
    case: str, factor: float, spread: float, alone: float, how: str, from_base: float, flies: bool
) -> Finding:
    """The shell of revolution finds what membrane forces and local buckling pass."""
    verb = "fails at" if factor < 1.0 else "may fail: it is good for"
    return Finding(
        "strength.shell-fails",
        Level.STOP if flies else Level.CAUTION,
        f"{_cap(case)}: as one shell the wall {verb} {factor:.2g} ± {spread:.2g} times this load, "
        f"{how}, {_place(from_base)}.",
        _alone(alone),
        (*_EASE, _PROVE),
    )


def shell_little_reserve(
    case: str, reserve: float, alone: float, wanted: float, how: str, from_base: float
) -> Finding:
    """The shell of revolution leaves less than is asked, membrane and local buckling enough."""
    return Finding(
        "strength.shell-little-reserve",
        Level.CAUTION,
        f"{_cap(case)}: as one shell reserve factor {reserve:.2f}, {how}, {_place(from_base)}.",
        f"{_alone(alone)} An unproved part is asked for {wanted:.1f}.",
        (*_EASE, _PROVE),
    )


def first_failure(
    case: str, factor: float, how: str, by: str, from_base: float, load: str
) -> Finding:
    """Where the wall gives way first, which is what a builder wants to know."""
    return Finding(
        "strength.first-failure",
        Level.NOTE,
        f"First to fail: {case} at {factor:.1f} times its load ({load}), {how}, "
        f"{_place(from_base)}, by {by}.",
        "The least of a ply's first failure (maximum stress, Tsai-Wu, Hashin) and of buckling, by "
        "membrane and beam forces with SP-8007 and SP-8019 and as one shell of revolution with "
        "clamped ends. A braid bears more after its first crack. Judgement support, never a "
        "certificate.",
        (_PROVE,),
    )


def not_known(fibre: str) -> Finding:
    """The library does not hold strengths of this fibre's plies."""
    return Finding(
        "strength.not-known",
        Level.NOTE,
        f"How strong plies of {fibre} are is not known.",
        "The library holds no tested ply of it; buckling alone is told.",
        ("state ply_tension_along and its kin in a material file of your own",),
    )


def load_of(axial: float, moment: float) -> str:
    """A load in words: force along and moment, each where there is one."""
    words = []
    if abs(axial) >= 0.5:
        words.append(f"{abs(axial):.0f} N {'pull' if axial > 0.0 else 'push'}")
    if abs(moment) >= 0.05:
        words.append(f"{abs(moment):.1f} N·m of bending")
    return " and ".join(words) if words and math.isfinite(axial + moment) else "pressure alone"


def _hundred(share: float) -> str:
    return f"{min(max(round(100.0 * share), 1), 99)} in 100"


def _alone(alone: float) -> str:
    """What the shell counts beyond the local formulas, and what these would leave."""
    return (
        "Counted here are the bending of the wall where it is clamped, at ramps and corners, and "
        f"the part buckling as a whole; without them {alone:.2g} would be left."
    )


def _place(from_base: float) -> str:
    return f"{abs(1e3 * from_base):.0f} mm from the base"


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
