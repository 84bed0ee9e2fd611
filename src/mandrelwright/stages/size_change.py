"""One change of the diameter: what a treatment takes or a film adds."""

from __future__ import annotations

from dataclasses import dataclass

from mandrelwright.stages.record import result


@dataclass(frozen=True)
class SizeChange:
    """What one treatment or film adds to the diameter: mean, spread (m), and where it is from."""

    label: str
    diameter: float = result("what it adds to the diameter", "mm", spread="spread")
    spread: float = result("its standard uncertainty", "mm")
    basis: str = result("how it is known")
    source: str = result("who says so")
    uses: tuple[str, ...] = ()
