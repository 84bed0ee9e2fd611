"""What radio tells: antennas shut in, weakened or detuned by the wall, coats and metal beside."""

from __future__ import annotations

import math
from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level

Place = tuple[float, float]


def shut_in(
    name: str, loss: float, least: float, layers: Sequence[str], swap: str, place: Place
) -> Finding:
    """An antenna lies behind a wall that lets next to nothing through."""
    conducts = f" {', '.join(layers)} conduct." if layers else ""
    return Finding(
        "radio.shut-in",
        Level.STOP,
        f"Antenna {name} is shut in: the wall beside it takes {least:.0f} to {loss:.0f} dB."
        + conducts,
        "A carbon laminate is a mirror to radio, and one layer of it in a hybrid is enough. Gaps "
        "and the open end may leak some, but nothing to rely on when the rocket has to be found.",
        (
            *([swap] if swap else []),
            "move the antenna behind a wall without carbon, or outside",
            "accept it when the antenna hears through an opening that you have tried on the ground",
        ),
        place,
    )


def weak(name: str, loss: float, straight: float, place: Place) -> Finding:
    """The wall takes a share of the power that shortens the range."""
    share = 10.0 ** (-loss / 20.0)
    return Finding(
        "radio.weak",
        Level.CAUTION,
        f"The wall takes up to {loss:.1f} dB of antenna {name} ({straight:.1f} straight through).",
        f"At the worst slant {100.0 * share:.0f} % of the range in free air is left.",
        (
            "a thinner wall beside it, or another place for the antenna",
            "try the range on the ground",
        ),
        place,
    )


def metal_flakes(coats: Sequence[str], names: Sequence[str]) -> Finding:
    """A coat with metal flakes lies over an antenna."""
    return Finding(
        "radio.metal-flakes",
        Level.CAUTION,
        f"{_some('Coat', coats)} with metal flakes over {_some('antenna', names)}: how much it "
        "takes is not known and not in the losses told here.",
        "Flakes that touch are a metal sheet; most paints lie somewhere between that and nothing.",
        (
            "paint the stretch beside the antenna without metal",
            "measure the signal through a painted and a bare panel before you paint",
        ),
    )


def metal_beside(item: str, material: str, name: str, place: Place) -> Finding:
    """A metal part lies beside an antenna."""
    return Finding(
        "radio.metal-beside",
        Level.CAUTION,
        f"{item} ({material}) lies along antenna {name}.",
        "Metal within a wavelength casts a shadow and moves the resonance; it is not in the losses "
        "told here.",
        ("move one of them along the part", "tune and try the antenna with the metal in its place"),
        place,
    )


def near_wall(
    names: Sequence[str], frequency: float, near: float, radius: float, share: float
) -> Finding:
    """The wall lies in the near field and lowers the resonance."""
    return Finding(
        "radio.near-wall",
        Level.CAUTION,
        f"{_some('Antenna', names)}: the wall can be no farther than {1e3 * radius:.0f} mm, and "
        f"within {1e3 * near:.0f} mm it detunes.",
        f"A wall of permittivity about 4 lowers the resonance by some {100.0 * share:.0f} % (from "
        f"memory, 1 to 5), {1e-6 * share * frequency:.0f} MHz here: often more than the antenna's "
        "own band, and it costs more than the loss in the wall.",
        (
            "tune the antenna in the finished part, with everything in its place",
            "choose one with a wide band, or leave it air: on the axis, away from glue and wood",
        ),
    )


def not_known(names: Sequence[str]) -> Finding:
    """The library does not say how a fibre or resin carries radio."""
    return Finding(
        "radio.not-known",
        Level.NOTE,
        f"What the wall takes of {_some('antenna', names)} is not known.",
        "The library holds no permittivity or loss tangent of a material in the wall.",
        ("state permittivity and loss_tangent of it in a material file of your own",),
    )


def swap_for(
    layers: Sequence[str],
    fibre: str,
    mass: float,
    balance: float,
    losses: str,
    reserve: tuple[float, float],
) -> str:
    """The swap in words: what to lay in glass, and what that costs."""
    cost = f"{mass * 1e3:+.0f} g, balance point {balance * 1e3:+.0f} mm".replace("-", "−")
    now, then = reserve
    strong = f", reserve factor {now:.1f} to {then:.1f}" if math.isfinite(now + then) else ""
    lay = f"lay {', '.join(layers)} in {fibre} as thick"
    return f"{lay}: {cost}{strong}; then the wall takes {losses}"


def _some(word: str, names: Sequence[str]) -> str:
    """One or several names after their word."""
    return f"{word}{'s' if len(names) > 1 else ''} {', '.join(names)}"
