"""What the gate answers: things that can be done, with the odds of fit after each."""

from __future__ import annotations

from dataclasses import dataclass

from mandrelwright.physics.capability import Conformity


@dataclass(frozen=True)
class Choice:
    """One thing that can be done, with the odds of fit after it and its expected minutes.

    amount: by how much the diameter that was read changes (m): negative where it is sanded,
    positive under film; 0 where nothing is done to it.
    """

    action: str
    text: str
    probability: float
    minutes: float
    amount: float = 0.0


@dataclass(frozen=True)
class GateAnswer:
    """What a reading says: estimate (m, ± spread), window, odds, choices with the best first.

    before: odds of fit laid up unread; as_is: after the reading, nothing done; after: with the
    best choice. questioned: how many standard uncertainties the reading lies from prediction.
    verdict: pass or fail of a part with its guard band, None of a mould. logged: readings of this
    mould that the log added. pulled: why the estimate is not the reading, in words.
    """

    stage: str
    estimate: float
    spread: float
    target: float
    least: float
    most: float
    before: float
    as_is: float
    after: float
    questioned: float
    choices: tuple[Choice, ...]
    verdict: Conformity | None = None
    logged: int = 0
    pulled: str = ""

    @property
    def best(self) -> Choice:
        """The choice of least expected minutes."""
        return self.choices[0]
