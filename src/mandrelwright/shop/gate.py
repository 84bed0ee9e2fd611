"""The gate: a reading of this mould or part replaces what was guessed, and says what to do.

A reading is an observation of the dimension chain: the joint normal distribution of the inputs
is conditioned on it exactly, and every action is judged on what is left uncertain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.job.values import InputError
from mandrelwright.physics import uncertainty
from mandrelwright.plan import Plan
from mandrelwright.quantities import ICE_POINT
from mandrelwright.shop.answers import Choice, GateAnswer
from mandrelwright.shop.at_marks import (
    at_reference,
    doubt_of,
    mark_of,
    refuse_slip,
    warmth,
    whitened,
)
from mandrelwright.shop.history import MouldRecord
from mandrelwright.shop.part_gate import ask_part_gate
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.fit import DRAWS, SEED, outcome_at
from mandrelwright.stages.mould import Mark

Array = NDArray[np.float64]

TELLS = 5e-6  # m: half of the last digit shown


def ask_gate(
    plan: Plan, readings: Sequence[Reading], mould: MouldRecord | None = None
) -> GateAnswer:
    """Answer one stage's readings: lay up, sand, add film, reprint; or hone, shim, scrap.

    ``mould``: this mould in the log; its readings in its present state join those given, and its
    own print file counts. ``plan`` must not have learned from this mould. Raises
    InputError for an unknown mark, mixed stages or a reading that can only be a slip.
    """
    stages = {reading.stage for reading in readings}
    if len(stages) != 1:
        raise InputError(f"readings of {', '.join(sorted(stages)) or 'no stage'}", "give one stage")
    if stages == {"part"}:
        return ask_part_gate(plan, readings)
    return _mould(plan, readings, stages.pop(), mould)


def _mould(
    plan: Plan, given: Sequence[Reading], stage: str, mould: MouldRecord | None
) -> GateAnswer:
    """The prepared (or just printed) mould at its marks."""
    chain, fit = plan.fit.chain, plan.fit
    lead = chain.lead
    files = {mark.name: mark.file for mark in mould.marks} if mould else {}
    logged = _logged(mould, given, stage) if mould else []
    rows, gaps, doubts, warm = [], [], [], []
    for reading in (*given, *logged):
        mark = mark_of(plan, reading)
        file = _file(plan, mark, files)
        linear = _mould_at(chain, file, 1.0 / np.cos(np.arctan(mark.slope)), reading.stage)
        refuse_slip(reading, linear.value)
        rows.append(linear.sensitivities)
        gaps.append(at_reference(plan, reading) - linear.value)
        doubts.append(doubt_of(plan, reading, mark))
        warm.append(warmth(plan, reading))
    expected = _mould_spread(chain, rows[0])
    doubt = float(np.hypot(doubts[0], warm[0]))
    surprise = float(abs(gaps[0]) / np.hypot(expected, doubt))
    stages = [reading.stage for reading in (*given, *logged)]
    slopes, off = whitened(doubts, warm, stages, rows, gaps)
    known = chain.known(slopes, off, np.ones(len(off)))
    in_file = _file(plan, plan.mould.marks[0], files) if files else fit.file_diameter
    ready = _mould_at(known, in_file, lead.secant, "ready")
    costs, drawn = aim.read_costs(plan.library), known.parts(DRAWS, SEED)
    out = outcome_at(known, ready.value, ready.spread, costs, drawn)
    at = np.array([ready.value])
    open_to_us = aim.options(at, out, costs)
    best = open_to_us[int(aim.choose(at, out, open_to_us)[0])]
    rest = [option for option in _worth_saying(open_to_us, out) if option is not best]
    again = fit.forecast.gated
    choices = [_choice(option, stage, ready.value, again) for option in (best, *rest)]
    return GateAnswer(
        stage,
        ready.value,
        ready.spread,
        out.best,
        out.least,
        out.most,
        fit.forecast.as_filed,
        float(out.fits(ready.value)),
        choices[0].probability,
        surprise,
        tuple(choices),
        logged=len(logged),
        pulled=_pulled(plan, given[0], gaps[0], expected, doubt, ready.value),
    )


def _worth_saying(options: Sequence[aim.Option], out: aim.Outcome) -> list[aim.Option]:
    """Options by minutes: laying up and printing again, and every mending that is open and that
    no other option beats, with fewer minutes and odds as good to a hundredth."""
    told: list[aim.Option] = []
    best = -1
    for option in sorted(options, key=lambda each: float(each.minutes[0])):
        odds = round(100.0 * float(option.probability[0]))
        mends = option.action not in ("lay up", "reprint")
        if not mends or (odds > best and bool(aim.is_open(option, out)[0])):
            told.append(option)
        best = max(best, odds)
    return told


def _pulled(
    plan: Plan, reading: Reading, gap: float, spread: float, doubt: float, ready: float
) -> str:
    """In words why the estimate is not the reading: warmth, another state, its doubt."""
    read = at_reference(plan, reading)
    if reading.at is not None and abs(reading.value - read) >= TELLS:
        own, reference = reading.at - ICE_POINT, plan.fit.chain.reference - ICE_POINT
        cold = replace(reading, value=read, at=None)
        told = (
            f"{_mm(reading.value)} at {own:g} °C is {_mm(read)} at {reference:g} °C, as in the job."
        )
        return f"{told} {_pulled(plan, cold, gap, spread, doubt, ready)}".strip()
    if reading.stage != "ready":
        return (
            f"{_mm(read)} was read as printed at mark {reading.mark.upper()}; after the planned "
            f"preparation mark {plan.mould.marks[0].name} reads {_mm(ready)}."
        )
    if abs(ready - read) < TELLS:
        return ""
    return (
        f"{_mm(read)} was read at mark {reading.mark.upper()} and {_mm(read - gap)} ± "
        f"{spread * 1e3:.2f} expected: the reading, "
        f"good to ± {doubt * 1e3:.2f}, counts by its share of both doubts, so the mould is taken "
        f"to be {_mm(ready)} at mark {plan.mould.marks[0].name}."
    )


def _mm(length: float) -> str:
    return f"{length * 1e3:.2f} mm"


def kept_readings(mould: MouldRecord, stage: str) -> list[Reading]:
    """Diameters that the log holds of a mould in its present state, or of its latest part.

    Raises InputError where it holds none of that stage.
    """
    of_part = stage == "part"
    held = mould.parts[-1].readings if of_part and mould.parts else _logged(mould, (), stage)
    found = [item for item in held if (item.stage, item.of) == (stage, "diameter")]
    if not found:
        told = f"the log holds no reading of mould {mould.name} at stage {stage}"
        raise InputError(told, "read it: mw measure, or add --mark A=98.31")
    return found


def _logged(mould: MouldRecord, given: Sequence[Reading], stage: str) -> list[Reading]:
    """Readings of the mould in its present state that the log holds and nobody gave again.

    A mended mould is told by what was read after the mending alone.
    """
    mended = max((reading.mended for reading in mould.readings), default=0)
    stages = (
        {"printed"}
        if stage == "printed"
        else {"printed", "ready"} - ({"printed"} if mended else set())
    )
    own = {(r.mark.upper(), r.value, r.stage) for r in given}
    return [
        reading
        for reading in mould.readings
        if reading.stage in stages
        and reading.of == "diameter"
        and reading.mended == mended
        and (reading.mark.upper(), reading.value, reading.stage) not in own
    ]


def _file(plan: Plan, mark: Mark, files: Mapping[str, float]) -> float:
    """Diameter at a mark in the file this mould was printed from (m)."""
    planned = 2.0 * float(np.interp(mark.x, plan.fit.ready.x, plan.fit.file.r))
    return files.get(mark.name, planned)


def _mould_at(chain: Chain, file: float, secant: float, stage: str) -> uncertainty.Propagated:
    """Diameter of the printed or prepared mould from its diameter in the file."""

    def model(rows: Array) -> Array:
        v = chain.values(rows.T)
        printed = chain.printed(v, file)
        return printed if stage == "printed" else chain.ready(v, printed, secant)

    return uncertainty.propagate(model, chain.mean, chain.covariance)


def _mould_spread(chain: Chain, row: Array) -> float:
    return float(np.sqrt(row @ chain.covariance @ row))


def _choice(option: aim.Option, stage: str, ready: float, again: float) -> Choice:
    """An option in words; ``again``: odds of fit of another mould that is read and mended."""
    odds, change = float(option.probability[0]), float(option.after[0]) - ready
    if option.action == "sand":
        more = " more than planned" if stage == "printed" else ""
        text = f"wet-sand {-change * 1e3:.2f} mm off the diameter{more}, then read it again"
    elif option.action == "film":
        count = int(option.amount[0])
        wraps = "one wrap" if count == 1 else f"{count} wraps"
        text = f"add {wraps} of 50 µm film over the fit"
    elif option.action == "lay up":
        printed = stage == "printed"
        text = "prepare it as planned and read it again" if printed else "wax and lay up as it is"
    else:
        text, odds, change = "print it again, and read it again", again, 0.0
    return Choice(option.action, text, odds, float(option.minutes[0]), change)
