"""What the shelf tells: textiles that are short."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level


def short(names: Sequence[str], lacking: Sequence[float], layers: int) -> Finding:
    """The shelf does not hold what cut list and patterns take."""
    each = ", ".join(f"{m:.2f} m of {name}" for name, m in zip(names, lacking, strict=True))
    gives = {0: "no layer", 1: "the first layer"}.get(layers, f"the first {layers} layers")
    return Finding(
        "supplies.short",
        Level.CAUTION,
        f"The shelf is short of {each}.",
        f"In their order it gives {gives}; patterns of cloth are laid side by side across the "
        "roll, warp along it, never turned.",
        ("buy it before anything is wet", "use fewer layers, another sleeve or cloth"),
    )
