"""The gate: a reading of this mould or part replaces what was guessed, and says what to do.

A reading is an observation of the dimension chain: the joint normal distribution of the inputs
is conditioned on it exactly, and every action is judged on what is left uncertain.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.job.values import InputError
from mandrelwright.physics import uncertainty
from mandrelwright.physics.capability import Conformity, conforms
from mandrelwright.plan import Plan
from mandrelwright.shop.history import MouldRecord
from mandrelwright.shop.questions import SURPRISE, is_slip
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.fit import DRAWS, SEED, SLOPE, outcome_at
from mandrelwright.stages.mould import Mark

Array = NDArray[np.float64]

__all__ = ["SURPRISE", "Choice", "GateAnswer", "ask_gate", "own_play"]

TELLS = 5e-6  # m: half of the last digit shown
JAW_PLACE = 0.5e-3  # m: how well the jaws find a mark along the mould, assumed


@dataclass(frozen=True)
class Choice:
    """One thing that can be done, with the odds of fit after it and its expected minutes.

    amount: by how much the diameter that was read changes (m): negative where it is sanded,
    positive under film; 0 where nothing is done to it.
    """

    action: str
    text: str
    probability: float
    minutes: float
    amount: float = 0.0


@dataclass(frozen=True)
class GateAnswer:
    """What a reading says: estimate (m, ± spread), window, odds, choices with the best first.

    before: odds of fit laid up unread; as_is: after the reading, nothing done; after: with the
    best choice. questioned: how many standard uncertainties the reading lies from prediction.
    verdict: pass or fail of a part with its guard band, None of a mould. logged: readings of this
    mould that the log added. pulled: why the estimate is not the reading, in words.
    """

    stage: str
    estimate: float
    spread: float
    target: float
    least: float
    most: float
    before: float
    as_is: float
    after: float
    questioned: float
    choices: tuple[Choice, ...]
    verdict: Conformity | None = None
    logged: int = 0
    pulled: str = ""

    @property
    def best(self) -> Choice:
        """The choice of least expected minutes."""
        return self.choices[0]


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
        return _part(plan, readings)
    return _mould(plan, readings, stages.pop(), mould)


def _mould(
    plan: Plan, given: Sequence[Reading], stage: str, mould: MouldRecord | None
) -> GateAnswer:
    """The prepared (or just printed) mould at its marks."""
    chain, fit = plan.fit.chain, plan.fit
    lead = chain.lead
    files = {mark.name: mark.file for mark in mould.marks} if mould else {}
    logged = _logged(mould, given, stage) if mould else []
    rows, gaps, doubts = [], [], []
    for reading in (*given, *logged):
        mark = _mark(plan, reading)
        file = _file(plan, mark, files)
        linear = _mould_at(chain, file, 1.0 / np.cos(np.arctan(mark.slope)), reading.stage)
        _refuse_slip(reading, linear.value)
        rows.append(linear.sensitivities)
        gaps.append(_at_reference(plan, reading) - linear.value)
        doubts.append(_doubt(plan, reading, mark))
    expected = _mould_spread(chain, rows[0])
    surprise = float(abs(gaps[0]) / np.hypot(expected, doubts[0]))
    known = chain.known(np.array(rows), np.array(gaps), np.array(doubts))
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
        pulled=_pulled(plan, given[0], gaps[0], expected, doubts[0], ready.value),
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
    """In words why the estimate is not the reading: another state, or weighed by its doubt."""
    read = _at_reference(plan, reading)
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


def _part(plan: Plan, readings: Sequence[Reading]) -> GateAnswer:
    """The finished part's own fit diameter: bore of a bore fit, outside of the others."""
    chain = plan.fit.chain
    lead = chain.lead
    fit, mean = lead.place.fit, chain.values(chain.mean[:, None])
    for reading in readings:
        _refuse_slip(reading, plan.fit.lead.diameter)
    own, doubt, play = _drawn_play(plan, readings, 0.0)
    mate = chain.inputs[chain.index(f"mate {fit.name}")]
    form = float(mean[f"form {fit.name}"][0])
    if fit.kind == "flush":
        form = -float(np.sum(chain.coated(lead, mean)))
    least, most = lead.place.window
    slope = SLOPE[fit.kind]
    costs = aim.read_costs(plan.library)
    out = aim.outcome(play, own, slope, lead.place.window, costs)
    choices = _part_choices(own, slope, float(play.mean()), lead.place.window, out, costs)
    at_ends = sorted(mate.mean + (limit + form) / slope for limit in (least, most))
    spread = float(plan.fit.lead.spread)
    surprise = abs(own - plan.fit.lead.diameter) / float(np.hypot(spread / abs(slope), doubt))
    return GateAnswer(
        "part",
        own,
        float(doubt),
        out.best,
        at_ends[0],
        at_ends[1],
        plan.fit.forecast.as_filed,
        float(out.fits(own)),
        choices[0].probability,
        surprise,
        choices,
        conforms(float(play.mean()), float(play.std()), (least, most)),
    )


def own_play(plan: Plan, readings: Sequence[Reading], mate: float = 0.0) -> tuple[float, float]:
    """Play of a part from its own diameter, and its doubt (m); ``mate``: 0 for the job's."""
    _, _, play = _drawn_play(plan, readings, mate)
    return float(play.mean()), float(play.std())


def _drawn_play(
    plan: Plan, readings: Sequence[Reading], measured: float
) -> tuple[float, float, Array]:
    """A part's own diameter, the doubt of it, and its play drawn over mate, form and reading."""
    chain = plan.fit.chain
    fit = chain.lead.place.fit
    values = np.array([_at_reference(plan, reading) for reading in readings])
    doubt = max(r.spread or plan.job.shop.caliper.value for r in readings) / np.sqrt(len(values))
    own = float(values.mean())
    generator = np.random.default_rng(SEED)
    v = chain.values(chain.draw(generator, DRAWS))
    noise = doubt * generator.standard_normal(DRAWS)
    mates = v[f"mate {fit.name}"]
    if measured:
        mates = mates + (measured - float(chain.mean[chain.index(f"mate {fit.name}")]))
    mated = {**v, f"mate {fit.name}": mates}
    return own, float(doubt), chain.play_of_own(chain.lead, mated, own + noise)


def _part_choices(
    own: float,
    slope: float,
    play: float,
    window: tuple[float, float],
    out: aim.Outcome,
    costs: aim.Costs,
) -> tuple[Choice, ...]:
    """Accept, take off or add by hand within its reach, or scrap; best first."""
    as_is = float(out.fits(own))
    choices = [
        Choice("accept", "accept it as it is", as_is, float(np.interp(own, out.ready, out.minutes)))
    ]
    change = out.best - own
    tight = play < 0.5 * (window[0] + window[1])
    after = float(out.fits(out.best))
    if abs(change * slope) <= aim.REACH_OF_HAND + (window[1] - window[0]):
        size = abs(change) * 1e3
        if tight:
            text = f"hone {size:.2f} mm off the diameter, or relieve the mate by as much"
            choices.append(Choice("hone", text, after, costs.hone, change))
        else:
            text = f"shim or line it by {size / 2.0:.2f} mm a side, or build the mate up"
            choices.append(Choice("shim", text, after, costs.shim, change))
    choices.append(
        Choice("scrap", "scrap it and make the next mould from this reading", 0.0, costs.scrap)
    )
    least, most = window
    inside = least <= play <= most and as_is >= float(out.probability.max()) - aim.WORTH_MENDING
    if inside:
        return tuple(choices)
    rest = sorted(choices[1:], key=lambda choice: choice.minutes)
    return (*rest, choices[0])


def _mark(plan: Plan, reading: Reading) -> Mark:
    for mark in plan.mould.marks:
        if mark.name == reading.mark.upper():
            return mark
    names = ", ".join(f"{mark.name} ({mark.purpose})" for mark in plan.mould.marks)
    raise InputError(f"mark {reading.mark} is not on this mould", f"its marks are {names}")


def _at_reference(plan: Plan, reading: Reading) -> float:
    """The reading brought to the reference temperature by the plastic's or part's expansion."""
    if reading.at is None:
        return reading.value
    chain = plan.fit.chain
    warm = reading.at - chain.reference
    if reading.stage == "part":
        hoop = plan.wall.expansion[chain.lead.node, 1]
        return reading.value / (1.0 + float(np.nan_to_num(hoop)) * warm)
    return reading.value / (1.0 + float(chain.mean[chain.index("mould expansion")]) * warm)


def _doubt(plan: Plan, reading: Reading, mark: Mark) -> float:
    """Caliper, and on a slope the place of its jaws."""
    caliper = reading.spread or plan.job.shop.caliper.value
    return float(np.hypot(caliper, 2.0 * mark.slope * JAW_PLACE))


def _refuse_slip(reading: Reading, predicted: float) -> None:
    if is_slip(reading.value, predicted):
        raise InputError(
            f"mark {reading.mark} reads {reading.value * 1e3:.2f} mm where "
            f"{predicted * 1e3:.2f} mm are expected",
            "look for a slip of the pen or the wrong mark, and read again",
        )
