"""How a record says where each of its results comes from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field
from typing import Any


def result(
    what: str, unit: str = "", by: Callable[..., Any] | None = None, uses: tuple[str, ...] = ()
) -> Any:
    """A record's field that knows its meaning, unit, equation (``by``) and inputs (``uses``).

    ``uses`` names results ("stack.wall"), the job's keys ("job.printer.shrink.across") or
    library entries ("materials.plastics"); `mw why` walks them.
    """
    return field(metadata={"what": what, "unit": unit, "by": by, "uses": uses})
