"""What a reading or weight should be about, before it is read: by the plan, or by earlier ones."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from statistics import median

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics import uncertainty
from mandrelwright.plan import Plan
from mandrelwright.shop.entries import Coupon, Entry, Event, Mould, Reading
from mandrelwright.shop.gate import JAW_PLACE
from mandrelwright.shop.standing import Logged
from mandrelwright.stages.chain import Chain, Station

Array = NDArray[np.float64]

ROUND = 0.06e-3  # m: out of round and place of the jaws between readings at one mark, assumed
HEAVY = 0.10  # relative doubt of a predicted mass where the plan's own is smaller, assumed
AFTER_PRINT = ("sanded", "smoothed", "filled", "ready")
PART = ("part", "finished")


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
    return Expected(mass, max(plan.layup.part_mass_spread, HEAVY * mass), "expected by the plan")


def _mould_of(about: Entry, rows: Sequence[Logged]) -> Mould | None:
    moulds = (row.entry for row in rows if row.entry.id == about.mould)
    return next((entry for entry in moulds if isinstance(entry, Mould)), None)


def earlier(about: Entry, stage: str, rows: Sequence[Logged]) -> dict[str, list[float]]:
    """Diameters read of the same thing in the same state, by mark."""
    out: dict[str, list[float]] = {}
    for row in rows:
        entry = row.entry
        if getattr(entry, about.kind) != about.id or (entry.part and about.kind == "mould"):
            continue
        if isinstance(entry, Event) and entry.what == "mended":
            out = {}
        elif isinstance(entry, Reading) and (entry.stage, entry.of) == (stage, "diameter"):
            out.setdefault(entry.mark, []).append(entry.reads.value)
    return out


def _of_ring(plan: Plan, about: Entry) -> dict[str, Expected]:
    if not isinstance(about, Coupon) or about.file is None:
        return {}
    printed = _propagated(plan.fit.chain, partial(_diameter, about.file.value, 1.0, "printed"))
    return {"A": printed}


def _of_plan(plan: Plan, mould: Mould, stage: str) -> dict[str, Expected]:
    chain = plan.fit.chain
    stations = {station.place.fit.name: station for station in chain.stations}
    out = {}
    for name, mark in mould.facts.get("marks", {}).items():
        secant = 1.0 / float(np.cos(np.arctan(mark["slope"])))
        model: Callable[[Chain, Array], Array] | None = None
        if stage in ("printed", *AFTER_PRINT):
            model = partial(_diameter, mark["file"], secant, stage)
        elif stage in PART and mark["purpose"] in stations:
            model = partial(_of_part, mark["file"], stations[mark["purpose"]])
        if model is not None:
            told = _propagated(chain, model)
            jaws = 2.0 * mark["slope"] * JAW_PLACE
            out[name] = Expected(told.value, float(np.hypot(told.spread, jaws)), told.by)
    return out


def _propagated(chain: Chain, model: Callable[[Chain, Array], Array]) -> Expected:
    told = uncertainty.propagate(lambda rows: model(chain, rows.T), chain.mean, chain.covariance)
    return Expected(told.value, float(np.hypot(told.spread, ROUND)), "expected by the plan")


def _diameter(file: float, secant: float, stage: str, chain: Chain, rows: Array) -> Array:
    """Diameter of the printed or prepared mould; one half prepared lies between."""
    v = chain.values(rows)
    printed = chain.printed(v, file)
    ready = chain.ready(v, printed, secant)
    if stage == "printed":
        return printed
    return ready if stage == "ready" else 0.5 * (printed + ready)


def _of_part(file: float, station: Station, chain: Chain, rows: Array) -> Array:
    """The part's own fit diameter: bore of a bore, outside of the others."""
    v = chain.values(rows)
    bore = chain.bore(station, v, chain.ready(v, chain.printed(v, file), station.secant))
    return bore if station.place.fit.kind == "bore" else chain.outside(station, v, bore)


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
