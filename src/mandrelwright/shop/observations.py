"""Readings of a shop's log as observations of the dimension chain, each with its own doubt."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.plan import Plan
from mandrelwright.shop.history import History, MarkRecord, MouldRecord, PartRecord
from mandrelwright.shop.predicted import (
    MOULD_STAGES,
    PART_STAGES,
    length_at,
    mould_at,
    part_at,
    straight,
)
from mandrelwright.shop.questions import Questioned, is_slip, question
from mandrelwright.stages.chain import Station, Values
from mandrelwright.stages.chain_inputs import print_scatter

Array = NDArray[np.float64]

JAW_PLACE = 0.5e-3  # m: how well the jaws find a mark along the mould, assumed
SCALE = 0.002  # relative standard uncertainty of a weight where no scale is named, assumed


@dataclass(frozen=True)
class Observation:
    """Readings of one state at one mark, taken together: what they say of the chain's inputs.

    where: in words. gap: mean reading minus prediction. slopes (input,): of the prediction.
    noise: variance of the mean beside the tool's own zero, ``zero``. mould, part: what it shares
    its differing inputs with; mended: how often its mould had been mended, 0 never.
    """

    where: str
    gap: float
    slopes: Array
    noise: float
    zero: float
    tool: str
    mould: str
    part: str
    mended: int
    readings: int
    entries: tuple[int, ...]


@dataclass(frozen=True)
class Observed:
    """All observations, what was questioned and left out until confirmed, what tells nothing."""

    observations: tuple[Observation, ...]
    questioned: tuple[Questioned, ...]
    unused: tuple[str, ...]


def observe(plan: Plan, history: History) -> Observed:
    """Every reading of the log that tells something of the plan's chain.

    ``plan``: made without corrections. Moulds of another plastic tell nothing of the print here
    and are named; a reading further than a slip from any prediction is questioned.
    """
    eye = _Eye(plan, history)
    for ring in history.rings:
        eye.ring(ring.name, ring.plastic, ring.file, ring.readings)
    for mould in history.moulds:
        if mould.plastic != plan.job.mould.plastic:
            eye.unused.append(f"mould {mould.name}: of {mould.plastic}, not {eye.plastic}")
            continue
        eye.mould(mould)
        for part in mould.parts:
            eye.part(mould, part)
    return Observed(tuple(eye.seen), tuple(eye.questioned), tuple(eye.unused))


def mended_most(mould: MouldRecord) -> int:
    """How often a mould has been mended so far, as its readings say."""
    return max((reading.mended for reading in mould.readings), default=0)


class _Eye:
    """Collects observations of one plan's chain."""

    def __init__(self, plan: Plan, history: History) -> None:
        self.plan, self.tools, self.chain = plan, history.tools, plan.fit.chain
        self.plastic = plan.job.mould.plastic
        habits, practice = plan.library.practice["learning"], plan.library.practice["print"]
        self.zero = habits["tool_lasts"].value
        self.thermometer = habits["thermometer"].value
        self.form = practice["form"].value
        self.expansion = self.chain.inputs[self.chain.index("mould expansion")]
        self.spread = np.sqrt(np.diag(self.chain.covariance))
        self.seen: list[Observation] = []
        self.questioned: list[Questioned] = []
        self.unused: list[str] = []
        job = plan.job.printer.rings
        self.known_rings = {(r.file.value, r.reads.value) for r in job}

    def ring(self, name: str, plastic: str, file: float, readings: Sequence[Reading]) -> None:
        """A ring off the printer, a print of its own."""
        if plastic != self.plastic:
            self.unused.append(f"ring {name}: of {plastic}, not {self.plastic}")
            return
        told = [r for r in readings if r.stage in ("ring", "printed")]
        if any((file, r.value) in self.known_rings for r in told):
            self.unused.append(f"ring {name}: the job states it already")
            return
        for (_, _, of, _), group in _grouped(told):
            where = f"ring {name}" + ", length" * (of == "length")
            if of == "length":
                linear = straight(self.chain, lambda v: length_at(v, file))
            else:
                linear = straight(self.chain, lambda v: self.chain.printed(v, file))
            slopes = linear.sensitivities.copy()
            scatter = print_scatter(self.plan.job, self.plan.library, file)
            row = self.chain.index("scatter")
            slopes[row] *= scatter / max(self.spread[row], 1e-12)
            self._together(group, where, linear.value, slopes, 0.0, f"ring {name}", "")

    def mould(self, mould: MouldRecord) -> None:
        """A mould at its marks, at every stage of its preparation, and the laminate on it."""
        marks = {mark.name: mark for mark in mould.marks}
        on_it = f"{mould.name}/laid"  # film and laminate of a part that has no name here
        for key, group in _grouped(mould.readings):
            stage, name, of, mended = key
            where = _where(f"mould {mould.name}", key)
            mark = marks.get(name)
            if mark and stage in MOULD_STAGES and of == "length":
                self._length(group, where, mark, mould.name)
            elif mark and stage in MOULD_STAGES and of == "diameter":
                secant = float(np.hypot(1.0, mark.slope))

                def model(
                    v: Values, file: float = mark.file, secant: float = secant, stage: str = stage
                ) -> Array:
                    return mould_at(self.chain, v, file, secant, stage)

                linear = straight(self.chain, model)
                told = linear.value, linear.sensitivities, mark.slope, mould.name
                self._together(group, where, *told, on_it * (stage == "filmed"), mended)
            elif not (stage == "set" and self._of_part(key, group, where, mould, on_it, mended)):
                self.unused.append(f"{where}: no link of the chain is read there")

    def _length(self, group: Sequence[Reading], where: str, mark: MarkRecord, mould: str) -> None:
        """From the base to a mark along the axis: shrink upwards, by how well the mark is found."""
        up = float(self.chain.mean[self.chain.index("shrink up")])
        file = mark.length or mark.from_base / (1.0 - up)
        linear = straight(self.chain, lambda v: length_at(v, file))
        self._together(group, where, linear.value, linear.sensitivities, 0.5, mould, "")

    def part(self, mould: MouldRecord, part: PartRecord) -> None:
        """A part's own diameter and wall at its fits, and its fibre by weight."""
        mended = max(mended_most(mould), *(r.mended for r in part.readings), 0)
        own = f"{mould.name}/{part.name}"
        for key, group in _grouped(part.readings):
            where = _where(f"part {part.name}", key)
            if not self._of_part(key, group, where, mould, own, mended):
                self.unused.append(f"{where}: no link of the chain is read there")
        self._weighed(mould, part)

    def _of_part(
        self,
        key: Key,
        group: Sequence[Reading],
        where: str,
        mould: MouldRecord,
        own: str,
        mended: int,
    ) -> bool:
        """Whether a reading of a part tells something of the chain; it is then taken."""
        stage, name, of, _ = key
        station = self._station(name)
        files = {mark.name: mark.file for mark in mould.marks}
        if station is None or name not in files or stage not in PART_STAGES or of == "length":
            return False
        if stage == "finished" and not station.coats:
            return not self.chain.coats and station.place.fit.kind != "bore"

        def model(v: Values) -> Array:
            return part_at(self.chain, v, files[name], station, of, stage)

        linear = straight(self.chain, model)
        after = mended if of == "diameter" else 0
        slipped = self._let_go(station, files[name]) if (stage, of) == ("set", "diameter") else 0.0
        told = linear.value, linear.sensitivities, 0.0, mould.name, own, after, slipped
        self._together(group, where, *told)
        return True

    def _let_go(self, station: Station, file: float) -> float:
        """Variance of not knowing whether a laminate on its mould has let go of it (m²).

        Anywhere from held to free where the free part is larger: gap²/3.
        """
        v = self.chain.values(self.chain.mean[:, None])
        held, free = (part_at(self.chain, v, file, station, "diameter", s) for s in ("set", "part"))
        if station.place.fit.kind == "bore":
            free = free + 2.0 * self.chain.wall(station, v)
        return max(float(free[0] - held[0]), 0.0) ** 2 / 3.0

    def _station(self, mark: str) -> Station | None:
        """The fit at a mark: that which the mark tells of, or the leading one at A."""
        purpose = {m.name: m.purpose for m in self.plan.mould.marks}.get(mark)
        stations = self.chain.stations
        return next((s for s in stations if s.place.name == purpose), None)

    def _weighed(self, mould: MouldRecord, part: PartRecord) -> None:
        """Fibre fraction from the weights of a part and of the fibre in it.

        V_f = (m_f/ρ_f)/(m_f/ρ_f + (m − m_f)/ρ_m), m_f fibre, m part; no voids.
        """
        scales = {weight.what: weight for weight in part.weights}
        if not {"fibre", "part"} <= set(scales) or scales["part"].value <= scales["fibre"].value:
            return
        fibre, whole = scales["fibre"], scales["part"]
        library, layers = self.plan.library, self.plan.stack.layers
        dense = [library.fibres[layer.textile.fibre]["density"].value for layer in layers]
        solid = fibre.value / float(np.mean(dense))
        resin = library.resins[self.plan.job.resin.name]["density"].value
        fraction = solid / (solid + (whole.value - fibre.value) / resin)
        row = self.chain.index("fibre fraction")
        slopes = np.zeros(len(self.chain.mean))
        slopes[row] = 1.0
        relative = [w.spread / w.value if w.spread else SCALE for w in (fibre, whole)]
        doubt = (
            fraction * (1.0 - fraction) * math.hypot(*relative) / (1.0 - fibre.value / whole.value)
        )
        gap = fraction - float(self.chain.mean[row])
        where = f"part {part.name}, weighed"
        own = f"{mould.name}/{part.name}"
        entries = (fibre.entry, whole.entry)
        self.seen.append(
            Observation(where, gap, slopes, doubt**2, 0.0, "scale", mould.name, own, 0, 2, entries)
        )

    def _together(
        self,
        group: Sequence[Reading],
        where: str,
        expected: float,
        slopes: Array,
        slope: float,
        mould: str,
        part: str,
        mended: int = 0,
        more: float = 0.0,
    ) -> None:
        """Readings of one state at one place become one observation; slips stay outside.

        slope: half of what the reading changes with the place. more: further variance, m².
        """
        spread = float(np.sqrt(slopes @ self.chain.covariance @ slopes))
        good = []
        for reading in group:
            self.questioned += question(reading, where, expected, spread)
            if not is_slip(reading.value, expected):
                good.append(reading)
        if not good:
            return
        values = [self._at_reference(reading) for reading in good]
        tool = good[0].tool
        doubt = max(self._doubt(reading) for reading in good)
        noise = doubt**2 * (1.0 - self.zero) / len(good)
        if good[0].of == "diameter" and not where.startswith("ring"):
            noise += 0.5 * self.form**2 / len({reading.angle for reading in good})
        place = max(JAW_PLACE if r.place is None else r.place for r in good)
        if good[0].of == "length":
            noise += self.plan.job.printer.layer.value**2 / 3.0  # whole layers, the first squashed
        noise += (2.0 * slope * place) ** 2 / len(good) + self._warmth(good[0], expected) + more
        self.seen.append(
            Observation(
                where,
                float(np.mean(values)) - expected,
                slopes,
                noise,
                self.zero * doubt**2,
                tool,
                mould,
                part,
                mended,
                len(good),
                tuple(reading.entry for reading in good),
            )
        )

    def _doubt(self, reading: Reading) -> float:
        """One standard uncertainty of one reading: as stated, of its tool, or the job's caliper."""
        own = self.tools[reading.tool].spread if reading.tool in self.tools else 0.0
        return reading.spread or own or self.plan.job.shop.caliper.value

    def _at_reference(self, reading: Reading) -> float:
        """The reading brought to the reference temperature by the expansion of the thing read."""
        if reading.at is None:
            return reading.value
        return reading.value / (1.0 + self._grows(reading) * (reading.at - self.chain.reference))

    def _grows(self, reading: Reading) -> float:
        """Expansion of the thing read, 1/K: the plastic's, or the part's along the hoop."""
        if reading.stage in ("part", "finished"):
            hoop = self.plan.wall.expansion[self.chain.lead.node, 1]
            return float(np.nan_to_num(hoop))
        return self.expansion.mean

    def _warmth(self, reading: Reading, size: float) -> float:
        """Variance from the doubt about temperature and expansion, m²."""
        known = reading.at is not None
        kelvin = self.thermometer * (1.0 if known else 2.0)
        warm = 0.0 if reading.at is None else reading.at - self.chain.reference
        plastic = reading.stage not in ("part", "finished")
        growth = self.expansion.spread * warm if plastic else 0.0
        return float((size * self._grows(reading) * kelvin) ** 2 + (size * growth) ** 2)


Key = tuple[str, str, str, int]  # stage, mark, size, how often mended


def _where(about: str, key: Key) -> str:
    """A group of readings in words."""
    stage, mark, of, _ = key
    return f"{about}, {stage}, mark {mark}" + (f", {of}" if of != "diameter" else "")


def _grouped(readings: Iterable[Reading]) -> Iterator[tuple[Key, list[Reading]]]:
    """Readings of one stage, mark, size and state together, in the order they were taken."""
    groups: dict[Key, list[Reading]] = defaultdict(list)
    for reading in readings:
        groups[reading.stage, reading.mark.upper(), reading.of, reading.mended].append(reading)
    yield from groups.items()
