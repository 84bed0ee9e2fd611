"""Check cases as data: one TOML file per subject, read by the tests and the validation page.

A case says where its numbers come from and how honest that is:
``verified`` inputs and result were read in a text; ``part`` the problem was read, the result
recalled; ``from memory`` recalled from the named source, not seen; ``derived`` a closed form
or an independent calculation, no published number is claimed.
``expected`` holds the printed digits; ``recomputed``, where present, the digits of an
independent calculation to more places, asserted in tests/exact.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

FOLDER = Path(__file__).parent / "cases"
STATUSES = ("verified", "part", "from memory", "derived")
LOOSEST = 0.5  # a wider tolerance would let almost anything pass


@dataclass(frozen=True)
class Case:
    """One problem with its source and its numbers; tolerances are relative."""

    id: str
    title: str
    source: str
    where: str
    status: str
    digitised: bool
    tolerance: float
    because: str
    inputs: Mapping[str, Any]
    expected: Mapping[str, Any]
    tolerances: Mapping[str, float] = field(default_factory=dict)  # per name, instead
    scale: Mapping[str, float] = field(default_factory=dict)  # what a tolerance is relative to
    recomputed: Mapping[str, Any] = field(default_factory=dict)
    recomputed_tolerance: float = 1e-6

    def __post_init__(self) -> None:
        """Refuse a case that is not honest or that could not fail."""
        for name in ("id", "title", "source", "where", "because"):
            if not getattr(self, name).strip():
                raise ValueError(f"{self.id}: {name} is empty")
        if self.status not in STATUSES:
            raise ValueError(f"{self.id}: status {self.status!r} is none of {STATUSES}")
        if not self.expected:
            raise ValueError(f"{self.id}: nothing is expected")
        unknown = (set(self.tolerances) | set(self.scale) | set(self.recomputed)) - set(
            self.expected
        )
        if unknown:
            raise ValueError(f"{self.id}: {sorted(unknown)} not among the expected names")
        for name, value in self.expected.items():
            self._refuse_loose(name, np.asarray(value, float))
        if not 0.0 < self.recomputed_tolerance <= 1e-3:
            raise ValueError(f"{self.id}: recomputed digits are not that loose")

    def _refuse_loose(self, name: str, value: np.ndarray) -> None:
        """Refuse a tolerance above one half and a zero without a scale."""
        tolerance = self.tolerances.get(name, self.tolerance)
        if not 0.0 < tolerance <= LOOSEST:
            raise ValueError(f"{self.id}: tolerance of {name} is not between 0 and {LOOSEST}")
        if name not in self.scale and np.any(value == 0.0):
            raise ValueError(f"{self.id}: {name} expects a zero without an explicit scale")
        allowed = tolerance * self.scale.get(name, 0.0)
        if np.any(allowed > LOOSEST * np.abs(value[value != 0.0])):
            raise ValueError(f"{self.id}: scale of {name} lets almost anything pass")

    def check(self, computed: Mapping[str, Any]) -> None:
        """Assert every expected number against the computed one of the same name."""
        assert set(computed) == set(self.expected), self.id
        for name, value in self.expected.items():
            expected = np.asarray(value, float)
            relative_to = self.scale.get(name, np.abs(expected))
            allowed = self.tolerances.get(name, self.tolerance) * relative_to
            self._compare(name, computed[name], expected, allowed)

    def check_recomputed(self, computed: Mapping[str, Any]) -> None:
        """Assert the recomputed digits, where the case has them."""
        for name, value in self.recomputed.items():
            expected = np.asarray(value, float)
            relative_to = self.scale.get(name, np.abs(expected))
            self._compare(name, computed[name], expected, self.recomputed_tolerance * relative_to)

    def _compare(self, name: str, computed: Any, expected: np.ndarray, allowed: Any) -> None:
        """Assert one name within its allowance; a NaN or another shape fails."""
        value = np.asarray(computed, float)
        assert value.shape == expected.shape, f"{self.id} {name}: shape {value.shape}"
        near = np.abs(value - expected) <= allowed
        assert np.all(near), f"{self.id} {name}: {value} is not {expected} ({self.source})"


def read_cases(subject: str) -> dict[str, Case]:
    """All cases of one subject, by id; ids are unique within it."""
    with (FOLDER / f"{subject}.toml").open("rb") as file:
        entries = tomllib.load(file)["case"]
    cases = [Case(**entry) for entry in entries]
    by_id = {case.id: case for case in cases}
    if len(by_id) != len(cases):
        raise ValueError(f"{subject}: an id is used twice")
    return by_id
