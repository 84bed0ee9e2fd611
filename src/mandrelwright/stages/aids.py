"""Bench aids, printed by the same printer: each says in one sentence what it is for."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

import numpy as np

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.quantities import show
from mandrelwright.stages.filament import DENSITY, spend
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.record import result
from mandrelwright.stages.segments import Segments
from mandrelwright.stages.shape import FitPlace, Shape
from mandrelwright.stages.sizes import SizeMap
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.turned import Turned

# Sizes of the aids, m; common practice, no source
RING, RING_WALL = 12e-3, 5e-3  # height and wall of a calibration ring
STEP = 12e-3  # height of one step of a gauge
GRIP = 8e-3  # wall of rings and collars; radius of the finger hole in a plug
SLIDES = 0.3e-3  # clearance a side of what slides over mould or part
LOOSE = 0.15e-3  # clearance a side of what stands in the part
LIFT = 4e-3  # thickness of the push-off ring
DRILL, DRILLS = 2.5e-3, 3  # pilot holes for M3 screws
FARTHEST = 150e-3  # of a drill line from the base: a taller jig rocks
PLUG, LIP = 20e-3, 4e-3  # depth of the storage plug, height and width of its lip
CAP, CORD = 20e-3, 3e-3  # height of the tie cap, depth of its groove

SIZED = (
    "shape.fits",
    "stack.mould",
    "stack.r",
    "fit.file",
    "fit.sizes",
    "print.flange",
    "print.pull_rod",
    "job.fit[*]",
    "job.printer.steepest",
)
FILLED = ("job.mould.core", "job.printer.line", "job.printer.layer", "fit.sizes")


@dataclass(frozen=True)
class Guide:
    """A hole across a ring's wall that guides a drill: four flats, so its roof carries itself.

    ``rise`` is the height of its section over its width.
    """

    angle: float
    height: float
    diameter: float
    rise: float


@dataclass(frozen=True)
class Aid:
    """One aid: a turned body, guides across its wall, and what it is for."""

    name: str
    body: Turned
    guides: tuple[Guide, ...]
    purpose: str = result("what it is for", "", (), SIZED)
    size: float = result(
        "the diameter that matters, once printed", "mm", (), ("fit.sizes", "job.fit[*]")
    )
    mass: float = result("plastic it takes", "g", spend, (DENSITY, *SIZED, *FILLED))
    time: float = result(
        "time to print it, roughly", "h", spend, ("job.printer.flow", *SIZED, *FILLED)
    )

    @property
    def genus(self) -> int:
        """Through holes: the one on the axis and the guides."""
        return int(self.body.contour[0, 0] > 0.0) + len(self.guides)


@dataclass(frozen=True)
class Aids:
    """Everything that is printed besides the mould."""

    items: tuple[Aid, ...] = result("aids", "", (), (*SIZED, DENSITY, *FILLED, "job.printer.flow"))


def make_aids(
    job: Job,
    shape: Shape,
    stack: Stack,
    fit: Fit,
    form: PrintForm,
    segments: Segments,
    library: Library,
) -> Aids:
    """Rings and gauges for the fits, then what helps to trim, drill, store, tie and push off.

    In the file an outside is (d − o)/(1 − s), an inside and a height d/(1 − s), s the shrink
    across or up, o the printer's offset, which is known of outsides only.
    """
    bench = _Bench(job, shape, stack, fit, form, segments, library)
    made = (
        bench.rings(),
        bench.gauges(),
        bench.on_the_flange(),
        bench.drill_jig(),
        bench.storage_plug(),
        bench.tie_cap(),
    )
    return Aids(tuple(chain.from_iterable(made)))


@dataclass(frozen=True)
class _Bench:
    """What the aids are measured from."""

    job: Job
    shape: Shape
    stack: Stack
    fit: Fit
    form: PrintForm
    segments: Segments
    library: Library

    @property
    def sizes(self) -> SizeMap:
        """How far the printer's sizes are from its file's."""
        return self.fit.sizes

    def rings(self) -> Iterator[Aid]:
        """One ring at the leading fit's diameter in the print file, one at half of it."""
        whole = round(self.fit.file_diameter, 3)
        warm = show(self.job.shop.measured_at.value, "degC", 0)
        for name, size in (("ring at the fit", whole), ("ring at half", round(whole / 2.0, 3))):
            outer = size / 2.0
            body = _ring(max(outer - RING_WALL, outer / 2.0), outer, RING)
            purpose = (
                f"Print it with the mould's settings, measure its outside at {warm} and enter "
                f'[[printer.ring]] file = "{show(size, "mm", 1)}" with your reading: two rings '
                "tell shrink from offset."
            )
            yield self._aid(name, body, purpose, size)

    def gauges(self) -> Iterator[Aid]:
        """A plug for every bore, a ring for every outside."""
        for number, place in enumerate(self.shape.fits, 1):
            gauge = self.plug_gauge if place.fit.kind == "bore" else self.ring_gauge
            yield gauge(f"{number}, {place.name}", place)

    def plug_gauge(self, label: str, place: FitPlace) -> Aid:
        """A stepped plug for a bore: the thin end goes in, the thick end must not."""
        mate, (least, most) = place.fit.mates.value, place.window
        go, no_go = self._outside(mate + least), self._outside(mate + most)
        hole = min(GRIP, go / 2.0)
        line = [(hole, 0.0), (no_go, 0.0), (no_go, STEP), (go, STEP), (go, 2 * STEP)]
        body = Turned(np.array([*line, (hole, 2 * STEP)]))
        purpose = (
            f"Try it in the part's bore for {place.name}: the {show(mate + least)} end must go "
            f"in, the {show(mate + most)} end must not; measure it first and write on it what "
            "it reads."
        )
        return self._aid(f"plug gauge {label}", body, purpose, mate + least)

    def ring_gauge(self, label: str, place: FitPlace) -> Aid:
        """A stepped ring for an outside: the wide end goes over, the narrow end must not."""
        mate, (least, most) = place.fit.mates.value, place.window
        flush = place.fit.kind == "flush"
        largest = mate + 2.0 * most if flush else mate - least
        smallest = mate + 2.0 * least if flush else mate - most
        go, no_go = self._inside(largest), self._inside(smallest)
        rim = go + GRIP
        line = [(no_go, 0.0), (rim, 0.0), (rim, 2 * STEP), (go, 2 * STEP), (go, STEP)]
        body = Turned(np.array([*line, (no_go, STEP)]))
        purpose = (
            f"Try it over the part's outside at {place.name}: the {show(largest)} end must go "
            f"over, the {show(smallest)} end must not; measure it first and write on it what it "
            "reads."
        )
        return self._aid(f"ring gauge {label}", body, purpose, largest)

    def on_the_flange(self) -> Iterator[Aid]:
        """The ring that the push-off screws lift, and the collar that shows where to trim."""
        lift = 0.0
        room = self.shape.stop - self.shape.base
        if self.segments.screws and self.form.flange is not None and room > 2.0 * LIFT:
            lift = LIFT
            bore = 2.0 * (float(self.stack.mould.r.max()) + SLIDES)
            body = _ring(self._inside(bore), self.form.flange[0], self._up(LIFT))
            purpose = (
                "Slide it down to the flange before the first layer, waxed like the mould: the "
                "screws lift it and it pushes the part off by its end."
            )
            yield self._aid("push-off ring", body, purpose, bore)
        if room - lift > 3e-3 and self.segments.base_down:
            bore = 2.0 * (float(self.stack.outside.r.max()) + SLIDES)
            inner = self._inside(bore)
            body = _ring(inner, inner + GRIP, self._up(room - lift))
            stands = "push-off ring" if lift else "flange" if self.form.flange else "bench"
            purpose = (
                f"Slide it over the laid-up part, down to the {stands}: its upper edge is the "
                "base trim line, saw along it."
            )
            yield self._aid("trim collar", body, purpose, bore)

    def drill_jig(self) -> Iterator[Aid]:
        """A ring that guides the drill for the screws or pins of the leading joint."""
        place = self.shape.lead
        height = self.shape.base - 0.5 * (place.start + place.stop)
        if place.fit.kind == "flush" or not 2.0 * DRILL < height < FARTHEST:
            return
        x, r = self.stack.outside.x, self.stack.outside.r
        covered = (x >= place.start) & (x <= self.shape.base)
        bore = 2.0 * (float(r[covered].max()) + SLIDES)
        inner, spacing = self._inside(bore), 2.0 * math.pi / DRILLS
        rise = max(1.0, 1.0 / math.tan(self.job.printer.steepest.value))
        drill = DRILL / (1.0 - self.sizes.shrink_across)
        guides = tuple(Guide(spacing * k, self._up(height), drill, rise) for k in range(DRILLS))
        body = _ring(inner, inner + GRIP, self._up(height + 3.0 * DRILL))
        purpose = (
            f"Stand the trimmed part and this ring on a flat bench and drill {DRILLS} holes of "
            f"{show(DRILL, 'mm', 1)} through its guides, {show(height, 'mm', 1)} from the base, "
            f"for the pins of {place.name}."
        )
        yield self._aid("pin-drill jig", body, purpose, bore, guides)

    def storage_plug(self) -> Iterator[Aid]:
        """A plug that keeps the base round while the part is stored."""
        bore = 2.0 * float(np.interp(self.shape.base, self.fit.bore.x, self.fit.bore.r))
        size = bore - 2.0 * LOOSE
        plug = self._outside(size)
        hole, rim = min(2.0 * GRIP, plug / 2.0), plug + LIP
        line = [(hole, 0.0), (rim, 0.0), (rim, LIP), (plug, LIP), (plug, LIP + self._up(PLUG))]
        body = Turned(np.array([*line, (hole, LIP + self._up(PLUG))]))
        purpose = "Keep it in the base while the part is stored: a warm wall goes oval on its side."
        yield self._aid("storage plug", body, purpose, size)

    def tie_cap(self) -> Iterator[Aid]:
        """A cap for the mould's tip with a groove that sleeves are tied into."""
        tip = float(self.form.radius[-1])
        hole = 0.0 if self.form.pull_rod is None else self.form.pull_rod / 2.0
        if tip - hole < 2.0 * CORD or not self.segments.base_down:
            return
        rise = CORD * max(1.0, 1.0 / math.tan(self.job.printer.steepest.value))
        middle = CAP / 2.0
        line = [
            (hole, 0.0),
            (tip, 0.0),
            (tip, middle - rise),
            (tip - CORD, middle),
            (tip, middle + rise),
            (tip, CAP - CORD),
            (tip - CORD, CAP),
            (hole, CAP),
        ]
        held = "by the pull rod" if hole else "with a dab of hot glue"
        purpose = (
            f"Fix it on the mould's tip {held} and tie every sleeve into its groove, clear of "
            "the part."
        )
        yield self._aid("tip tie cap", Turned(np.array(line)), purpose, 2.0 * tip)

    def _aid(
        self, name: str, body: Turned, purpose: str, size: float, guides: tuple[Guide, ...] = ()
    ) -> Aid:
        height = float(body.contour[:, 1].max())
        filament = spend(self.job, body.contour, body.volume, height, self.library)
        return Aid(name, body, guides, purpose, size, filament.mass, filament.time)

    def _outside(self, diameter: float) -> float:
        """Radius in the file of an outside that is to measure so much."""
        return (diameter - self.sizes.offset) / (1.0 - self.sizes.shrink_across) / 2.0

    def _inside(self, diameter: float) -> float:
        """Radius in the file of an inside that is to measure so much."""
        return diameter / (1.0 - self.sizes.shrink_across) / 2.0

    def _up(self, height: float) -> float:
        return height / (1.0 - self.sizes.shrink_up)


def _ring(inner: float, outer: float, height: float) -> Turned:
    return Turned(np.array([[inner, 0.0], [outer, 0.0], [outer, height], [inner, height]]))
