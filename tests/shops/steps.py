"""What passes between who predicts and what really is: steps one way, readings the other."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TextIO

INSIDE = 1.96  # spreads: a 95 % interval
Do = Literal["print", "mend", "lay up", "read again"]


@dataclass(frozen=True)
class Step:
    """Something to be made and read, with what is predicted of its mean reading.

    of: what it is, in words, never twice. mould: of which print, counted from 1. amount: diameter
    in the print file, or by how much to mend (m). assumed: what the prediction adds up, by cause
    (m). odds: of fit, of a part.
    """

    do: Do
    of: str
    mould: int
    amount: float
    assumed: Mapping[str, float]
    spread: float
    odds: float | None = None

    @property
    def mean(self) -> float:
        """The predicted mean reading (m)."""
        return sum(self.assumed.values())

    @property
    def text(self) -> str:
        """The prediction as it is hashed, mm."""
        said = {"of": self.of, "mean": f"{self.mean * 1e3:.4f}"}
        said["spread"] = f"{self.spread * 1e3:.4f}"
        if self.odds is not None:
            said["fits"] = f"{self.odds:.3f}"
        return json.dumps(said)


@dataclass(frozen=True)
class Seen:
    """All that whoever predicts gets to know: readings at 0° and 90° (m); whether a part fitted."""

    reads: tuple[float, float]
    fits: bool | None = None


@dataclass(frozen=True)
class Tried:
    """A part on its mate (m): its bore, what oval and lobes take, the mate; as they really are."""

    bore: float
    form: float
    mate: float

    @property
    def play(self) -> float:
        """The clearance the builder feels."""
        return self.bore - self.form - self.mate


@dataclass(frozen=True)
class Came:
    """What came, and of what it really was made (m); of a part also how it was tried."""

    seen: Seen
    really: Mapping[str, float]
    tried: Tried | None = None


@dataclass(frozen=True)
class Told:
    """A prediction, its hash, and what came."""

    step: Step
    digest: str
    came: Came

    @property
    def read(self) -> float:
        """The mean reading (m)."""
        return sum(self.came.seen.reads) / 2.0

    @property
    def off(self) -> float:
        """How many spreads it lies from the prediction."""
        return (self.read - self.step.mean) / self.step.spread

    @property
    def hit(self) -> bool:
        """Inside the 95 % interval."""
        return abs(self.off) <= INSIDE

    def causes(self) -> list[tuple[str, float, float]]:
        """Cause, what was assumed of it and what it was (m), the largest difference first."""
        assumed, really = self.step.assumed, self.came.really
        names = dict.fromkeys([*assumed, *really])
        rows = [(name, assumed.get(name, 0.0), really.get(name, 0.0)) for name in names]
        return sorted(rows, key=lambda row: -abs(row[2] - row[1]))


class Ledger:
    """Writes predictions behind their hash, at once; knows which ones are out."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self._written: list[str] = []

    def say(self, line: str) -> None:
        """A line that leaves at once."""
        self._out.write(line + "\n")
        self._out.flush()

    def fix(self, text: str) -> str:
        """Write the SHA-256 of a prediction, then its text; returns the hash."""
        digest = hashlib.sha256(text.encode()).hexdigest()
        self.say(f"  predicted  {digest}")
        self.say(f"             {text}")
        self._written.append(text)
        return digest

    def number(self, text: str) -> int | None:
        """Which prediction this is, counted from 1; None while it is not written."""
        return self._written.index(text) + 1 if text in self._written else None
