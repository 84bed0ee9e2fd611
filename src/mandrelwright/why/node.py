"""A name that can be asked about, before anybody asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from mandrelwright.stages.record import By
from mandrelwright.why.explanation import Shown

Words = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Node:
    """What can be told of a name; ``uses`` None: it follows from its own parts.

    ``words`` fill the braces in ``uses`` before those of the plan do. ``stated`` is False of a
    key that the job leaves out and that has no default.
    """

    name: str
    kind: str
    what: str
    show: Callable[[], Shown]
    by: tuple[By, ...] = ()
    uses: tuple[str, ...] | None = ()
    words: Words = field(default_factory=dict)
    parts: tuple[str, ...] = ()
    place: str = ""
    basis: str = ""
    source: str = ""
    cited: str = ""
    weak: bool = False
    stated: bool = True
