"""What a reading or weight should be about, before it is read: by the plan, or by earlier ones."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from statistics import median

import numpy as np
from numpy.typing import NDArray

from mandrelwright.plan import Plan
from mandrelwright.shop.entries import Coupon, Entry, Event, Mould, Reading
from mandrelwright.shop.observations import JAW_PLACE
from mandrelwright.shop.predicted import MOULD_STAGES, PART_STAGES, mould_at, part_at, straight
from mandrelwright.shop.standing import Logged
from mandrelwright.stages.chain import Chain, Station, Values

Array = NDArray[np.float64]

ROUND = 0.06e-3  # m: out of round and place of the jaws between readings at one mark, assumed
HEAVY = 0.10  # relative doubt of a predicted mass where the plan's own is smaller, assumed
BY_PLAN = "expected by the plan"


@dataclass(frozen=True)
class Expected:
    """What is expected (SI) with one standard uncertainty, and by whom: words for a question."""

    value: float
    spread: float
    by: str

    def off(self, value: float) -> float:
        """How many standard uncertainties a value lies away."""
        return abs(value - self.value) / self.spread


def expected_readings(
    plan: Plan, about: Entry, stage: str, rows: Sequence[Logged]
) -> dict[str, Expected]:
    """Diameter expected at each mark of a mould, part or ring at a stage, by mark.

    Earlier readings of the same state count first (their median, since mended last), else the
    plan's dimension chain with the mould's own print file. rows: what stands in the log.
    """
    mould = about if isinstance(about, Mould) else _mould_of(about, rows)
    found = {**_of_ring(plan, about), **(_of_plan(plan, mould, stage) if mould else {})}
    for mark, values in earlier(about, stage, rows).items():
        slope = mould.facts["marks"][mark]["slope"] if mould and mark in found else 0.0
        spread = float(np.hypot(ROUND, 2.0 * slope * JAW_PLACE))
        found[mark] = Expected(median(values), spread, "read there before")
    return found


def expected_weight(plan: Plan, what: str) -> Expected | None:
    """Mass expected of the finished part (kg); None of anything else."""
    if what != "part":
        return None
    mass = plan.layup.part_mass
    return Expected(mass, max(plan.layup.part_mass_spread, HEAVY * mass), BY_PLAN)


def _mould_of(about: Entry, rows: Sequence[Logged]) -> Mould | None:
    moulds = (row.entry for row in rows if row.entry.id == about.mould)
    return next((entry for entry in moulds if isinstance(entry, Mould)), None)


def earlier(
    about: Entry, stage: str, rows: Sequence[Logged], of: str = "diameter"
) -> dict[str, list[float]]:
    """Diameters, walls or lengths read of the same thing in the same state, by mark."""
    out: dict[str, list[float]] = {}
    for row in rows:
        entry = row.entry
        if getattr(entry, about.kind) != about.id or (entry.part and about.kind == "mould"):
            continue
        if isinstance(entry, Event) and entry.what == "mended":
            out = {}
        elif isinstance(entry, Reading) and (entry.stage, entry.of) == (stage, of):
            out.setdefault(entry.mark, []).append(entry.reads.value)
    return out


def _of_ring(plan: Plan, about: Entry) -> dict[str, Expected]:
    if not isinstance(about, Coupon) or about.file is None:
        return {}
    file, chain = about.file.value, plan.fit.chain
    return {"A": _expected(chain, lambda v: chain.printed(v, file))}


def _of_plan(plan: Plan, mould: Mould, stage: str) -> dict[str, Expected]:
    chain = plan.fit.chain
    stations = {station.place.fit.name: station for station in chain.stations}
    out = {}
    for name, mark in mould.facts.get("marks", {}).items():
        secant = 1.0 / float(np.cos(np.arctan(mark["slope"])))
        jaws = 2.0 * mark["slope"] * JAW_PLACE
        file, station = mark["file"], stations.get(mark["purpose"])
        if stage in MOULD_STAGES:
            told = _expected(chain, partial(_on_mould, chain, file, secant, stage), jaws)
        elif stage in PART_STAGES and station is not None:
            told = _expected(chain, partial(_on_part, chain, file, station, stage), jaws)
        else:
            continue
        out[name] = told
    return out


def _on_mould(chain: Chain, file: float, secant: float, stage: str, v: Values) -> Array:
    return mould_at(chain, v, file, secant, stage)


def _on_part(chain: Chain, file: float, station: Station, stage: str, v: Values) -> Array:
    return part_at(chain, v, file, station, "diameter", stage)


def _expected(chain: Chain, model: Callable[[Values], Array], jaws: float = 0.0) -> Expected:
    told = straight(chain, model)
    return Expected(told.value, float(np.hypot(told.spread, np.hypot(ROUND, jaws))), BY_PLAN)


def outliers(rows: Sequence[Logged]) -> Mapping[int, float]:
    """Readings that lie far from the others of one thing, stage and mark, by number.

    M = 0.6745 |x − median| / MAD, shown where it exceeds 3.5 in three readings or more; the MAD
    is not taken smaller than what calipers resolve, 0.01 mm.
    Source: Iglewicz and Hoaglin, How to Detect and Handle Outliers (ASQC, 1993), as given in the
    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.17 (from memory).
    """
    groups: dict[tuple[object, ...], list[tuple[int, float]]] = {}
    for number, entry in rows:
        if isinstance(entry, Reading):
            about = (entry.mould, entry.part, entry.coupon, entry.stage, entry.mark, entry.of)
            groups.setdefault(about, []).append((number, entry.reads.value))
    out: dict[int, float] = {}
    for group in groups.values():
        if len(group) < 3:
            continue
        centre = median(value for _, value in group)
        mad = max(median(abs(value - centre) for _, value in group), RESOLVES)
        scores = {number: 0.6745 * abs(value - centre) / mad for number, value in group}
        out |= {number: score for number, score in scores.items() if score > FAR}
    return out


RESOLVES = 0.01e-3  # m
FAR = 3.5  # of M, by the same source
