"""Every example in the docstrings of the physics runs and prints what it says."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

from mandrelwright import physics

MODULES = [module.name for module in pkgutil.iter_modules(physics.__path__)]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(f"mandrelwright.physics.{name}"))
    assert outcome.failed == 0


def test_examples_exist() -> None:
    modules = [importlib.import_module(f"mandrelwright.physics.{name}") for name in MODULES]
    assert sum(doctest.testmod(module).attempted for module in modules) >= len(MODULES)
