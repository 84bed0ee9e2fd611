"""Rows of readings and parts against NIST's data sets and examples (cases/capability.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from mandrelwright.physics.capability import (
    capability,
    describe,
    individuals,
    tolerance_factor,
)
from tests.published.case import read_cases

CASES = read_cases("capability")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def michelson(given: Inputs) -> Answer:
    return describe(given["values"])._asdict()


def capable(given: Inputs) -> Answer:
    told = capability(given["mean"], given["deviation"], tuple(given["window"]), given["count"])
    return {"potential": told.potential, "achieved": told.achieved}


def factor(given: Inputs) -> Answer:
    return {"factor": tolerance_factor(given["count"], given["coverage"], given["confidence"])}


def chart(given: Inputs) -> Answer:
    return individuals(given["values"])._asdict()


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "UNC-6": michelson,
    "UNC-7 capability": capable,
    "UNC-7 tolerance factor": factor,
    "UNC-7 individuals": chart,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    case = CASES[identity]
    computed = ANSWERS[identity](case.inputs)
    case.check(computed)
    case.check_recomputed(computed)
