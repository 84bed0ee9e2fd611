"""What the Surface step tells: solvents that do nothing, vapour, losses nobody measured."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level


def does_not_smooth(agent: str, plastic: str, known: Sequence[str]) -> Finding:
    """The solvent does not soften the mould's plastic."""
    remedy = f"for {plastic} use {', '.join(known)}" if known else "sand and fill instead"
    return Finding(
        "surface.does-not-smooth",
        Level.STOP,
        f"{agent} does not smooth {plastic}.",
        "A solvent levels layer lines only where it dissolves the plastic.",
        (remedy, "use a plastic that this solvent smooths"),
    )


def solvent_vapour(agent: str) -> Finding:
    """Solvent vapour burns and harms; the usual cautions."""
    return Finding(
        "surface.solvent-vapour",
        Level.CAUTION,
        f"{agent}: vapour that burns, explodes in the wrong mixture and harms who breathes it.",
        "Acetone: NIOSH recommends no more than 250 ppm over a day and names 2500 ppm as "
        "immediately dangerous; the vapour is twice as heavy as air, and opening the box passes "
        "through the explosive range.",
        (
            "outdoors or under extraction, cold, as little as wets the wick; no spark near",
            "gloves and eye protection; read the safety data sheet; follow local codes",
            "let it dry until it no longer loses weight before wax, epoxy or an oven",
        ),
    )


def loss_not_measured() -> Finding:
    """Nobody has measured what smoothing takes off this print."""
    return Finding(
        "surface.loss-not-measured",
        Level.NOTE,
        "What smoothing takes off the diameter is a guess here: no coupon is stated.",
        "No published table of size against exposure could be found; run-off differs by printer "
        "and box.",
        ('smooth a ring, measure it before and after, and write loss = "0.04 mm +- 0.02 mm"',),
    )
