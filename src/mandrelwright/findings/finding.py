"""What the user is told: a finding has an id, a level, what, why, what to do, and a place."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How grave a finding is: a stop ends the making, a caution wants care, a note informs."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


INJURY = (  # stops, or all of a step, about solvent, fire, skin and lungs
    "layup",
    "surface.solvent-in-heat",
    "surface.hot-solvent",
    "surface.unknown-solvent",
    "surface.does-not-smooth",
)


@dataclass(frozen=True)
class Finding:
    """One thing the user must know; ``place`` is a stretch (m) from the tip of the full profile."""

    id: str
    level: Level
    what: str
    why: str
    do: tuple[str, ...] = ()
    place: tuple[float, float] | None = None

    @property
    def step(self) -> str:
        """The step that found it: "stack" of "stack.cannot-open"."""
        return self.id.partition(".")[0]

    @property
    def hurts(self) -> bool:
        """Whether ignoring it may injure somebody: such a stop cannot be accepted."""
        return self.step in INJURY or self.id in INJURY
