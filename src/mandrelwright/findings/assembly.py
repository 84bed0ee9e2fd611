"""What the finished part tells once it is weighed."""

from __future__ import annotations

from mandrelwright.findings.finding import Finding, Level

FAR = 3.0  # spreads beyond which a reading is questioned


def weighed(
    mass: float,
    planned: float,
    fraction: tuple[float, float],
    voids: tuple[float, float],
    far: float,
) -> Finding:
    """The bare part on the scale, and what it says of fibre and voids."""
    share, doubt = (100.0 * value for value in fraction)
    empty, unsure = (100.0 * value for value in voids)
    return Finding(
        "assembly.weighed",
        Level.CAUTION if abs(far) > FAR else Level.NOTE,
        f"Weighed {1e3 * mass:.0f} g, planned {1e3 * planned:.0f} g: fibre {share:.1f} ± "
        f"{doubt:.1f} %, voids {empty:.1f} ± {unsure:.1f} % by volume.",
        "A known mass of fibre leaves the resin as the rest; weight alone cannot part resin from "
        "voids, the wall as measured can."
        + (f" It lies {abs(far):.0f} spreads from the plan." if abs(far) > FAR else ""),
        (
            *(["weigh again: trimmed, bare, dry?"] if abs(far) > FAR else []),
            f'state it for the next mould: fibre_fraction = "{share:.1f} % +- {doubt:.1f} %"',
        ),
    )
