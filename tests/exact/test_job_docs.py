"""The page about the job file names every key, the page about measures every unit."""

import re
from pathlib import Path
from typing import Any

import pytest

from mandrelwright.job.spec import job_schema
from mandrelwright.quantities import UNITS

JOB_KINDS = (
    "length",
    "temperature",
    "mass",
    "fraction",
    "mix ratio",
    "mass per length",
    "areal weight",
    "time",
    "frequency",
    "speed",
    "price per length",
    "volume",
)
DOCS = Path(__file__).parents[2] / "docs"


def keys(node: Any) -> set[str]:
    """Every key that the schema knows, at any depth."""
    if isinstance(node, list):
        return set().union(*map(keys, node))
    if not isinstance(node, dict):
        return set()
    own = node["properties"] if isinstance(node.get("properties"), dict) else {}
    return set(own).union(*map(keys, node.values()))


def test_every_key_is_explained() -> None:
    page = (DOCS / "job.md").read_text(encoding="utf-8")
    missing = {key for key in keys(job_schema()) if not re.search(rf"\b{key}\b", page)}
    assert missing == set()


@pytest.mark.parametrize("kind", JOB_KINDS)
def test_every_unit_of_a_job_is_listed(kind: str) -> None:
    page = (DOCS / "quantities.md").read_text(encoding="utf-8")
    (row,) = [line for line in page.splitlines() if re.match(rf"\| (.*, )?{kind} \|", line)]
    for unit in UNITS[kind]:
        assert re.search(rf"[ |]{re.escape(unit)}[ ,|]", row), unit
