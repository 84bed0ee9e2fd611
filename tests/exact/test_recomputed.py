"""The published cases again, against the digits of an independent calculation.

Printed digits are few and some are recalled; these come from a second program and carry
six or more places, so they pin the arithmetic. They are nobody's published numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from tests.published import (
    test_flight,
    test_laminate,
    test_micromechanics,
    test_strength,
    test_uncertainty,
)
from tests.published.case import Case

SUBJECTS = [test_flight, test_laminate, test_micromechanics, test_strength, test_uncertainty]
RECOMPUTED = [
    pytest.param(case, subject.ANSWERS[identity], id=identity)
    for subject in SUBJECTS
    for identity, case in subject.CASES.items()
    if case.recomputed
]


@pytest.mark.parametrize(("case", "answer"), RECOMPUTED)
def test_recomputed_digits(
    case: Case, answer: Callable[[Mapping[str, Any]], dict[str, Any]]
) -> None:
    case.check_recomputed(answer(case.inputs))
