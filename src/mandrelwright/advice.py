"""What to change in a job that cannot be made as stated: sleeve sizes, sleeve ends, open tip."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass

import numpy as np
import tomlkit

from mandrelwright.job.materials import Library
from mandrelwright.job.sections import Cylinder, Measured, Transition
from mandrelwright.job.spec import Job
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.stack_checks import BEST_ANGLE, Reach, reach

ROUNDS = 5  # a larger sleeve bunches earlier, so ends follow sizes
WHOLE = 1e-3  # m: builders cut and buy by the millimetre


@dataclass(frozen=True)
class Proposal:
    """Changes to a job, by their place in the file; lengths in m."""

    sleeve_sizes: dict[int, float]
    layer_starts: dict[int, float]
    tip_opening: float | None

    @property
    def empty(self) -> bool:
        """Nothing to change."""
        return not self.sleeve_sizes and not self.layer_starts and self.tip_opening is None

    def lines(self, job: Job) -> list[str]:
        """The changes in words."""
        out = [
            f"sleeve {job.sleeves[i].name}: {size * 1e3:.0f} mm at 45 degrees"
            for i, size in self.sleeve_sizes.items()
        ]
        out += [
            f"layer {i + 1} ({job.layers[i].sleeve}): start where the part is {d * 1e3:.0f} mm wide"
            for i, d in self.layer_starts.items()
        ]
        if self.tip_opening is not None:
            out.append(f"open the tip at {self.tip_opening * 1e3:.0f} mm; make a separate tip")
        return out


def propose(plan: Plan) -> Proposal:
    """Sizes and ends that keep every sleeve between its locks.

    A sleeve that cannot open gets the size that lies at 55 degrees over its largest place. A
    sleeve that bunches starts where its angle reaches the lower lock (or the least of good
    practice); when nothing else covers the tip, the tip is cut open there.
    """
    job, limits = plan.job, reach(plan.shape, plan.stack)
    numbers = _job_layer_of(job)
    sizes: dict[int, float] = {}
    names = [sleeve.name for sleeve in job.sleeves]
    jammed, covers_tip = _jammed(plan)
    for number, row in enumerate(limits):
        free = plan.stack.free_angle[number]
        there = plan.stack.share[number] > 0.5
        if np.any(there & (free > row.layer.textile.upper)):
            largest = 2.0 * float(plan.stack.r[number + 1][there].max())
            size = _up(largest / (math.sqrt(2.0) * math.sin(BEST_ANGLE)))
            at = names.index(row.layer.textile.name)
            sizes[at] = max(size, sizes.get(at, 0.0))
    if sizes or not jammed:
        return Proposal(sizes, {}, None)
    if covers_tip or isinstance(job.sections[0], Cylinder | Transition | Measured):
        return Proposal({}, _starts(limits, numbers, jammed), None)
    return Proposal({}, {}, max(_up(limits[number].start_diameter) for number in jammed))


def _jammed(plan: Plan) -> tuple[list[int], bool]:
    """Layers that bunch inside the part, and whether a sound layer covers the tip."""
    stack, shape = plan.stack, plan.shape
    inside = (stack.mould.x >= shape.tip) & (stack.mould.x <= shape.base)
    bunched = [n for n, row in enumerate(stack.jammed) if np.any(row & inside)]
    at_tip = int(np.argmax(inside))
    sound = (stack.share[:, at_tip] > 0.5) & ~stack.jammed[:, at_tip]
    vanished = stack.vanishes is not None and stack.mould.x[0] > shape.tip
    return bunched, bool(sound.any()) and not vanished


def _starts(limits: list[Reach], numbers: list[int], jammed: list[int]) -> dict[int, float]:
    """Start diameter by row of the job, the largest among its repeats."""
    starts: dict[int, float] = {}
    for number in jammed:
        row = numbers[number]
        starts[row] = max(_up(limits[number].start_diameter), starts.get(row, 0.0))
    return starts


def _job_layer_of(job: Job) -> list[int]:
    """For every laid layer its row among the job's layers."""
    return [row for row, layer in enumerate(job.layers) for _ in range(layer.repeat)]


def _up(length: float) -> float:
    """The next whole millimetre."""
    return math.ceil(length / WHOLE - 1e-6) * WHOLE


def adopt(text: str, proposal: Proposal, library: Library) -> str:
    """The job file with the proposal written in, comments kept."""
    file = tomlkit.parse(text)
    for row, size in proposal.sleeve_sizes.items():
        _resize(file, row, size, library)
    for row, diameter in proposal.layer_starts.items():
        place = tomlkit.inline_table()
        place["diameter"] = f"{diameter * 1e3:.0f} mm"
        file["layer"][row]["from"] = place
    if proposal.tip_opening is not None:
        opening = tomlkit.inline_table()
        opening["open"] = f"{proposal.tip_opening * 1e3:.0f} mm"
        file["section"][0]["tip"] = opening
    return tomlkit.dumps(file)


def _resize(file: tomlkit.TOMLDocument, row: int, size: float, library: Library) -> None:
    """Give a sleeve another diameter at 45 degrees; a library sleeve becomes a labelled one."""
    sleeve = file["sleeve"][row]
    if "library" in sleeve:
        entry = library.sleeves[str(sleeve.pop("library"))]
        sleeve["fibre"] = entry.words["fibre"].words[0]
        sleeve["tows"] = round(entry["tows"].value)
        sleeve["tow"] = f"{entry['tow'].value * 1e6:.0f} tex"
    sleeve["diameter_at_45"] = f"{size * 1e3:.0f} mm"
    sleeve["diameter_at_45"].comment("proposed: measure the sleeve you get")


@dataclass(frozen=True)
class Settled:
    """A job text after all rounds of proposals, its plan, and the changes in words."""

    text: str
    plan: Plan
    changes: tuple[str, ...]


def settle(text: str, plan: Plan) -> Settled:
    """Propose and adopt in turn until nothing is left to propose (a few rounds)."""
    changes: list[str] = []
    for _ in range(ROUNDS):
        proposal = propose(plan)
        if proposal.empty:
            break
        changes += proposal.lines(plan.job)
        text = adopt(text, proposal, plan.library)
        context = {"path": plan.job.path, "digest": plan.job.digest}
        job = Job.model_validate(tomllib.loads(text), context=context)
        plan = make_plan(job, plan.library, corrections=plan.corrections)
    return Settled(text, plan, tuple(changes))
