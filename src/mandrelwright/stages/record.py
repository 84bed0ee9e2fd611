"""How a record says where each of its results comes from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import Any, TypeVar

By = Callable[..., Any]
Getter = TypeVar("Getter", bound=By)


@dataclass(frozen=True)
class Origin:
    """What a result is, its unit, the functions whose docstrings hold its equations, its inputs.

    ``by`` is None where the step's own verb makes it, ``uses`` None where the record or list
    around it says so, or where it follows from its own parts.  ``uses`` names results
    ("stack.wall"), inputs of the chain ("input.shrink"), keys of the job ("job.printer.layer")
    and of the library ("materials.plastics.{plastic}.expansion").  "a | b" is the first that is
    stated, "*" every name at that place; words in braces are filled from the plan, among them
    {item} and {row} (from 1) of the row around it and {name} of the fit.  ``spread`` is the
    sibling that holds the standard uncertainty.
    """

    what: str
    unit: str = ""
    by: tuple[By, ...] | None = None
    uses: tuple[str, ...] | None = None
    spread: str = ""


def result(
    what: str,
    unit: str = "",
    by: By | tuple[By, ...] | None = None,
    uses: tuple[str, ...] | None = None,
    spread: str = "",
) -> Any:
    """A record's field that knows its Origin; `mw why` walks it."""
    makers = (by,) if callable(by) else by
    return field(metadata={"origin": Origin(what, unit, makers, uses, spread)})


def derived(unit: str, by: By | None, *uses: str) -> Callable[[Getter], Getter]:
    """Mark the getter of a property as a result too; what it is stands in its docstring."""

    def marked(getter: Getter) -> Getter:
        what = (getter.__doc__ or "").partition(",")[0].strip(". \n")
        vars(getter)["origin"] = Origin(what, unit, (by,) if by else None, uses)
        return getter

    return marked


def origins(record: type) -> dict[str, Origin]:
    """Every result of a record by name, fields first, then properties."""
    found = {item.name: item.metadata["origin"] for item in fields(record) if item.metadata}
    for name, item in vars(record).items():
        if isinstance(item, property) and "origin" in vars(item.fget):
            found[name] = vars(item.fget)["origin"]
    return found
