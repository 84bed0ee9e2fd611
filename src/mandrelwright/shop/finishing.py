"""What fill, primer and paint of this shop add where the job states no coats: told, to be stated.

Coats that are stated are inputs of the chain and learned with it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from mandrelwright.physics.hierarchy import NormalGamma, update_normal
from mandrelwright.plan import Plan
from mandrelwright.shop.history import History

LASTS = 1.0  # parts that the library's mean counts as: half its variance is habit, assumed


@dataclass(frozen=True)
class Finishing:
    """Coat per side of the next part: centre and scale of Student's t (m), degrees, parts read."""

    centre: float
    scale: float
    degrees: float
    parts: int


def learn_finishing(plan: Plan, history: History) -> Finishing | None:
    """Finished outside minus outside as released, half of it, at marks read both times.

    Exact: normal coats of unknown mean and variance, the library's value as prior. None where no
    part was read both times, or where the job states its coats.
    """
    library, coats = plan.library, []
    bores = {s.place.name for s in plan.fit.chain.stations if s.place.fit.kind == "bore"}
    outside = {mark.name for mark in plan.mould.marks if mark.purpose not in bores}
    if plan.fit.chain.coats:
        return None
    for mould in history.moulds:
        for part in mould.parts:
            sizes: dict[tuple[str, str], list[float]] = {}
            for r in part.readings:
                if r.of == "diameter" and r.stage in ("part", "finished"):
                    sizes.setdefault((r.stage, r.mark.upper()), []).append(r.value)
            marks = [m for m in sorted(outside) if {("part", m), ("finished", m)} <= sizes.keys()]
            each = [np.mean(sizes["finished", m]) - np.mean(sizes["part", m]) for m in marks]
            if each:
                coats.append(0.5 * float(np.mean(each)))
    if not coats:
        return None
    coat = library.practice["finishing"]["per_side"]
    degrees = library.practice["learning"]["spread_degrees"].value
    variance = coat.spread**2 / (1.0 + 1.0 / LASTS)
    prior = NormalGamma(*map(np.asarray, (coat.value, LASTS, degrees, variance)))
    centre, scale, left = update_normal(prior, coats).predictive()
    return Finishing(float(centre), float(scale), float(left), len(coats))
