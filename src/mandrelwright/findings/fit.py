"""What the Fit step tells: walls that do not close, fits on a slope, fits unlikely to come out."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level

MEASURE = {
    "shrink": "print a ring at the fit's own diameter, measure it cold, and write it as "
    "[[printer.ring]]",
    "offset": "print rings at two diameters: they tell the printer's offset from its shrink",
    "scatter": "read every prepared mould at its marks: one print differs from the next",
    "smoothing": "smooth a ring, measure it before and after, and state the loss",
    "sanding": "read the mould before and after sanding",
    "release film": "measure the film on a strip of the same plastic, and state it",
    "set temperature": "lay a thermometer on the mould while it sets, and state the temperature",
    "fibre fraction": "weigh a part of yours and its fibre: V_f follows, state it",
    "braid angle": "photograph or measure ten crossings of the laid sleeve",
    "cure shrinkage": "measure the first part's bore against its mould",
    "mould expansion": "measure a ring cold and warm",
    "form": "turn the ready mould in the calipers and find its largest and smallest diameter",
    "mate": "measure the mate at three places, twice, and state its mean and spread",
    "tow": "weigh a metre of the sleeve and state it as weighed",
    "wax": "read the ready mould before and after its coats of wax",
    "share kept": "measure the first part's bore against its mould",
    "springback": "read the first part's bore, and its mould ready to wax before it",
    "coat": "read the outside before and after the coat, and state what it adds",
    "clear": "read the outside before and after the coat, and state what it adds",
}


MEANS = {
    "shrink": "of the print across",
    "shrink up": "of the print upwards",
    "offset": "printed minus intended diameter, at any size",
    "scatter": "of one print from the next",
    "set temperature": "of the mould when the resin sets",
    "share kept": "of the cure shrinkage, once the part is off",
    "cure shrinkage": "of the neat resin",
    "braid angle": "laid minus planned",
    "tow": "weight over the label's",
    "springback": "of the free bore, over its diameter",
    "form": "oval and lobes",
}


def means(name: str) -> str:
    """An input with what it is in words: "offset (printed minus intended diameter, …)"."""
    words = MEANS.get(name) or MEANS.get(name.split()[0], "")
    return f"{name} ({words})" if words else name


def measure(name: str) -> str:
    """What to measure to know an input better; "form coupler" is looked up under "form"."""
    return MEASURE.get(name) or MEASURE.get(name.split()[0], f"measure {name}, state its spread")


def wall_does_not_close(
    bore_fit: str,
    flush_fit: str,
    wall: float,
    needed: float,
    step: float,
    remedies: tuple[str, ...],
    place: tuple[float, float],
) -> Finding:
    """Bore and flush at one place ask for another wall than the layers give."""
    side = "proud of" if step > 0.0 else "below"
    return Finding(
        "fit.wall-does-not-close",
        Level.CAUTION,
        f"The wall is {wall * 1e3:.2f} mm where {bore_fit} and {flush_fit} together ask for "
        f"{needed * 1e3:.2f} mm: the part stands {abs(step) * 1e3:.2f} mm {side} the tube.",
        "Bore and outside at one place fix the wall; layers come whole. On a male mould the "
        "outside is finished, not moulded.",
        remedies,
        place,
    )


def whole_layers(name: str, one: float, change: int, left: float) -> str:
    """Layers more or fewer, and the step they leave (m)."""
    word = "more" if change > 0 else "fewer"
    side = "proud" if left > 0.0 else "low"
    return (
        f"{abs(change)} {word} of {name} ({one * 1e3:.2f} mm each): {abs(left) * 1e3:.2f} mm "
        f"{side} remain"
    )


def fill_up(gap: float, cloth: float) -> list[str]:
    """What makes a part that stands low thicker: a cloth (kg/m²) or filler."""
    return [
        f"thin cloth of {cloth * 1e3:.0f} g/m² in all brings the missing {gap * 1e3:.2f} mm",
        f"fill {gap * 1e3:.2f} mm a side outside and fair it",
    ]


def take_off(step: float, share: float, most: float) -> list[str]:
    """What makes a part that stands proud thinner: lighter sleeves, or sanding a little."""
    out = [f"sleeves lighter by {100.0 * share:.0f} % in all"]
    if step <= most:
        out.append(
            f"sand {step * 1e3:.2f} mm a side off: only filler or resin, never more than half "
            f"the outer layer ({most * 1e3:.2f} mm)"
        )
    return out


def squeeze(fraction: float, now: float) -> str:
    """Another fibre fraction that closes the wall."""
    return f"lay up to a fibre fraction of {100.0 * fraction:.0f} % instead of {100.0 * now:.0f} %"


def let_lead(flush_fit: str, bore_fit: str, change: float) -> str:
    """Let the outside set the mould; the bore then takes the misfit (m on diameter)."""
    word = "wider" if change > 0.0 else "tighter"
    return f"let {flush_fit} lead: {bore_fit} then comes out {abs(change) * 1e3:.2f} mm {word}"


def on_a_slope(name: str, varies: float, window: float, place: tuple[float, float]) -> Finding:
    """A fit's own diameter changes along its length by more than its window."""
    return Finding(
        "fit.on-a-slope",
        Level.STOP,
        f"Along the fit {name} the part's diameter changes by {varies * 1e3:.2f} mm; its window "
        f"is {window * 1e3:.2f} mm wide.",
        "A mate is a cylinder: it touches at the narrowest place and rattles at the widest.",
        ("move the fit onto a cylindrical section", "end layers outside the fit's length"),
        place,
    )


def unlikely(name: str, probability: float, window: float, spread: float) -> Finding:
    """Even a mould read and corrected does not make the fit likely."""
    return Finding(
        "fit.unlikely",
        Level.CAUTION,
        f"Even over a mould that reads right, {name} comes out within its window only "
        f"{100.0 * probability:.0f} times of 100.",
        f"The window is {window * 1e3:.2f} mm wide, the doubt left after reading the mould is "
        f"{spread * 1e3:.2f} mm (one standard uncertainty).",
        (
            "widen the window if the joint allows it",
            "lessen what is to blame (see the fit's blame)",
        ),
    )


def measure_next(name: str, share: float, now: float, ring: float) -> Finding:
    """The measurement that makes the first part surer."""
    gain = f" A ring at the fit's diameter: {100 * ring:.0f} of 100 fit instead of {100 * now:.0f}."
    cause = "scatter from one print to the next" if name == "scatter" else name
    return Finding(
        "fit.measure-next",
        Level.NOTE,
        f"{cause[0].upper()}{cause[1:]} is to blame for {100.0 * share:.0f} % of the doubt about a "
        f"mould laid up unread.{gain if name in ('shrink', 'offset') else ''}",
        "The share of the leading fit's variance, to first order.",
        (measure(name),),
    )


def thin_reserve(name: str, probability: float) -> Finding:
    """A fit that does not lead comes out wrong more often than not."""
    return Finding(
        "fit.follows-badly",
        Level.CAUTION,
        f"{name} comes out right as laid only {100.0 * probability:.0f} times of 100.",
        "It follows from the fit that leads; nothing in the mould can serve both.",
        ("allow a finish (sand or fill), or widen its window", "let this fit lead instead"),
    )


def rests_on(readings: int, moulds: int) -> Finding:
    """The plan starts from what this shop's own readings taught."""
    return Finding(
        "fit.rests-on-readings",
        Level.NOTE,
        f"Sizes and odds rest on {readings} reading{'s' * (readings != 1)} of {moulds} "
        f"mould{'s' * (moulds != 1)} of this shop.",
        "The corrections beside the job replace what job and library say of the same inputs.",
        ("after every new reading: mw next",),
    )


def corrections_stale(names: list[str]) -> Finding:
    """Some of the job changed after its corrections were learned."""
    return Finding(
        "fit.corrections-stale",
        Level.CAUTION,
        f"The corrections of {', '.join(names)} no longer apply: the job says otherwise now.",
        "A correction is learned against what the job said; against another statement it would "
        "correct twice or the wrong way. These inputs stand as the job states them.",
        ("learn anew from the log: mw next",),
    )
