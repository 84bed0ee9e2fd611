"""What the Stack step tells: sleeves that cannot open, bunch, leave no mould or leave it bare."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level


def cannot_open(
    label: str,
    theta_deg: float,
    upper_deg: float,
    place: tuple[float, float],
    from_base: float,
    proposed: float,
) -> Finding:
    """A sleeve would have to open beyond its upper lock."""
    angle = f"{theta_deg:.0f}°" if theta_deg < 89.5 else "more than its tows are long"
    return Finding(
        "stack.cannot-open",
        Level.STOP,
        f"Layer {label} cannot open far enough: it would lie at {angle} over the largest place, "
        f"{from_base * 1e3:.0f} mm from the base; it locks at {upper_deg:.0f}°.",
        "At the upper lock the tows lie side by side; a sleeve cannot be pulled wider, nor over "
        "the trim margin.",
        (
            f"use a sleeve of {proposed * 1e3:.0f} mm diameter at 45° or larger",
            "end this layer tipward of that place",
        ),
        place,
    )


def bunches(
    label: str, lower_deg: float, place: tuple[float, float], from_base: float, diameter: float
) -> Finding:
    """A sleeve is pulled thinner than its lower lock and bunches."""
    return Finding(
        "stack.bunches",
        Level.STOP,
        f"Layer {label} bunches tipward of {from_base * 1e3:.0f} mm from the base: its tows touch "
        f"at {lower_deg:.0f}° and pile up. End it at a diameter of {diameter * 1e3:.1f} mm.",
        "Below its lower lock a sleeve wrinkles. Its mass is still known, but it is not a "
        "laminate: no strength, no thickness to a hundredth.",
        (
            f"end this sleeve at a diameter of {diameter * 1e3:.1f} mm or more",
            "use a smaller sleeve for the tip half",
            f"cut the tip open at {diameter * 1e3:.0f} mm and mount a separate tip",
        ),
        place,
    )


def steep(label: str, theta_deg: float, most_deg: float, place: tuple[float, float]) -> Finding:
    """A sleeve lies steeper than good practice, though it still opens."""
    return Finding(
        "stack.steep",
        Level.CAUTION,
        f"Layer {label} opens to {theta_deg:.0f}°, beyond the {most_deg:.0f}° of good practice.",
        "There 1 % of diameter is more than a degree, the sleeve is hard to pull on, and it "
        "carries little along the part. It may serve as an inner layer.",
        ("use a larger sleeve for the outer layers", "pull it on dry once before mixing resin"),
        place,
    )


def shallow(label: str, theta_deg: float, least_deg: float, place: tuple[float, float]) -> Finding:
    """A sleeve lies flatter than good practice, though its tows do not touch yet."""
    return Finding(
        "stack.shallow",
        Level.CAUTION,
        f"Layer {label} is stretched to {theta_deg:.0f}°, below the {least_deg:.0f}° of "
        "good practice.",
        "There the wall thickens fast, hoop expansion nears that of the mould, and a little "
        "slack becomes a wrinkle.",
        ("end this sleeve earlier and cover the tip with a smaller one",),
        place,
    )


def vanishes(from_base: float, diameter: float, place: tuple[float, float]) -> Finding:
    """The layers fill the drawn surface to the axis: no mould is left."""
    return Finding(
        "stack.vanishes",
        Level.STOP,
        f"No mould is left tipward of {from_base * 1e3:.0f} mm from the base: the layers fill "
        f"the {diameter * 1e3:.1f} mm of the drawn surface to the axis.",
        "A sleeve keeps its tows: the narrower the place, the thicker the layer.",
        (
            "end sleeves earlier, each at its own diameter (see the ends proposed)",
            "use a smaller or lighter sleeve for the tip half",
            "cut the tip open and mount a separate tip",
        ),
        place,
    )


def thin_core(from_base: float, diameter: float, place: tuple[float, float]) -> Finding:
    """Under the layers the mould is thinner than anything that is printed or laid on."""
    return Finding(
        "stack.thin-core",
        Level.STOP,
        f"Tipward of {from_base * 1e3:.0f} mm from the base, where the part is "
        f"{diameter * 1e3:.1f} mm wide, the layers leave a mould of less than 6 mm: none is "
        "written there.",
        "A thinner core breaks when the part is pulled.",
        (
            "end sleeves earlier, each at its own diameter (see the ends proposed)",
            "use a smaller or lighter sleeve for the tip half",
            "cut the tip open wider and mount a separate tip",
        ),
        place,
    )


def bare_tip(from_base: float, diameter: float, place: tuple[float, float]) -> Finding:
    """Nothing is laid over the tip."""
    return Finding(
        "stack.bare-tip",
        Level.CAUTION,
        f"Nothing is laid tipward of {from_base * 1e3:.0f} mm from the base: the part begins "
        f"there, open {diameter * 1e3:.1f} mm.",
        "Every layer ends before the tip.",
        ("make a separate tip for that opening, and state it: tip = { open = ... }",),
        place,
    )


def shorter_than_ramps(label: str, place: tuple[float, float], ramp: float) -> Finding:
    """A layer whose two ramps run into each other never reaches its own thickness."""
    return Finding(
        "stack.shorter-than-ramps",
        Level.CAUTION,
        f"Layer {label} is {(place[1] - place[0]) * 1e3:.0f} mm long, less than the "
        f"{ramp * 1e3:.0f} mm of its ramps: it is counted as thinner than it is.",
        "Where the ramps of both ends overlap, only a share of the layer is planned for.",
        (f"make the layer longer than {ramp * 1e3:.0f} mm", "leave it out"),
        place,
    )


def bare(place: tuple[float, float], base: float) -> Finding:
    """A stretch inside the part carries no layer."""
    return Finding(
        "stack.bare",
        Level.STOP,
        f"No layer lies from {(base - place[1]) * 1e3:.0f} to {(base - place[0]) * 1e3:.0f} mm "
        "from the base.",
        "The layers' ends leave a gap.",
        ("let the layers overlap there by at least twice the ragged end (10 mm)",),
        place,
    )


def outside_moves(drawn: float, built: float, stop: bool) -> Finding:
    """The leading fit moves the drawn surface."""
    level = Level.STOP if stop else Level.CAUTION
    return Finding(
        "stack.drawing-moves",
        level,
        f"To close the leading fit the drawn {drawn * 1e3:.2f} mm become {built * 1e3:.2f} mm.",
        "The drawn surface, the layers and the leading fit fix the wall three times over; the "
        "fit wins and every radius is scaled.",
        (
            "check the drawn diameter and the fit's measured mate for a slip of the pen",
            "change the number of layers so that the wall fills the space between fit and drawing",
        ),
    )
