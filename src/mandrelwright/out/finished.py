"""The finished part in words and rows: what it weighs, where it balances, what radio it lets by."""

from __future__ import annotations

from collections.abc import Iterator

from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.radio import Radio

Lines = list[tuple[str, ...]]
Table = tuple[str, str, tuple[str, ...], Lines]

NOTHING = "–"
JUDGEMENT = (
    "Judgement support, never a certificate. Range safety, local codes and licensed practice come "
    "first; a proof load and a test on the ground tell more than any number here."
)
MASSES = "Places from the base. Wall and coats are worked out, the rest is as you stated it."
MASS_HEADS = ("part", "mass", "place", "material")
HEARD = (
    "Loss in the wall beside each antenna, at the worst place: straight through, and at 60° with "
    "the electric or the magnetic field along the wall. Flat walls and waves from afar: an order "
    "for small tubes. Try it on the ground."
)
HEARD_HEADS = ("antenna", "frequency", "straight", "60°, electric", "60°, magnetic", "conducts")
SWAP = "The same wall with the conducting layers in glass of equal thickness."
SWAP_HEADS = ("antenna", "loss then")


def tables(plan: Plan) -> Iterator[Table]:
    """Tables of the finished part: name, text, heads, rows."""
    yield "Mass and balance", MASSES, MASS_HEADS, list(masses(plan))
    if plan.radio is not None:
        yield "Radio", HEARD, HEARD_HEADS, list(heard(plan.radio))
        if plan.radio.swap is not None:
            losses = plan.radio.swap.loss
            after: Lines = [(name, _decibels(loss)) for name, loss in losses]
            yield "Radio after a swap", SWAP, SWAP_HEADS, after


def facts(plan: Plan) -> Iterator[tuple[str, str]]:
    """Balance and inertia of the whole, and what a swap costs."""
    made = plan.assembly
    yield "Mass", show_spread(made.mass, made.mass_spread, "g", 0)
    yield "Balance point", f"{balance(made)} from the base"
    yield "Inertia about the axis", _inertia(made.axial_inertia, made.axial_spread)
    across = _inertia(made.transverse_inertia, made.transverse_spread)
    yield "Inertia across it, at the balance point", across
    if plan.radio is not None and plan.radio.swap is not None:
        swap = plan.radio.swap
        gain = f"{(swap.mass - made.mass) * 1e3:+.0f} g".replace("-", "−")
        reserve = f", reserve factor {swap.reserve:.1f} instead of {swap.reserve_now:.1f}"
        known = swap.reserve == swap.reserve
        yield f"With {', '.join(swap.layers)} in {swap.fibre}", gain + (reserve if known else "")


def balance(made: Assembly) -> str:
    """The balance point with its spread, from the base."""
    return show_spread(made.balance, made.balance_spread, "mm", 0)


def masses(plan: Plan) -> Iterator[tuple[str, ...]]:
    """Wall, coats and items with their places."""
    made, base = plan.assembly, plan.shape.base
    bare = show_spread(made.laminate, plan.layup.part_mass_spread, "g", 0)
    yield "wall", bare, f"0 to {_mm(base - plan.shape.tip)}", "fibre and resin"
    for coat in made.coats:
        mass = show_spread(coat.mass, coat.mass_spread, "g", 1)
        per_side = show_spread(coat.thickness, coat.spread, "mm", 2)
        yield coat.label, mass, f"{_mm(base - coat.stop)} upwards", f"{per_side} a side"
    for item in made.items:
        mass = show_spread(item.mass, item.mass_spread, "g", 0)
        place = show_spread(base - item.x, item.x_spread, "mm", 0).replace("-", "−")
        yield item.name, mass, place, item.material


def heard(radio: Radio) -> Iterator[tuple[str, ...]]:
    """One line per antenna."""
    for one in radio.antennas:
        yield (
            one.name,
            show(one.frequency, "MHz", 2),
            f"{_decibels(one.loss)} ± {_number(one.spread)}",
            _decibels(one.slant_te),
            _decibels(one.slant_tm),
            ", ".join((*one.conductors, *one.metallic)) or NOTHING,
        )


def _decibels(loss: float) -> str:
    return f"{_number(loss)} dB" if loss == loss else "not known"


def _number(value: float) -> str:
    return f"{value:.0f}" if value >= 9.95 else f"{value:.2g}"


def _inertia(value: float, spread: float) -> str:
    """kg cm², the size of such parts."""
    return f"{value * 1e4:.3g} kg cm² ± {spread * 1e4:.1g}"


def _mm(value: float) -> str:
    return show(value, "mm", 0)
