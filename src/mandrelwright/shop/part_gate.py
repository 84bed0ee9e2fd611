"""The gate on the finished part: its own fit diameter says accept, hone, shim or scrap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.records import Reading
from mandrelwright.physics.capability import conforms
from mandrelwright.plan import Plan
from mandrelwright.shop.answers import Choice, GateAnswer
from mandrelwright.shop.at_marks import at_reference, refuse_slip
from mandrelwright.stages import aim
from mandrelwright.stages.fit import DRAWS, SEED, SLOPE

Array = NDArray[np.float64]


def ask_part_gate(plan: Plan, readings: Sequence[Reading]) -> GateAnswer:
    """The finished part's own fit diameter: bore of a bore fit, outside of the others."""
    chain = plan.fit.chain
    lead = chain.lead
    fit, mean = lead.place.fit, chain.values(chain.mean[:, None])
    for reading in readings:
        refuse_slip(reading, plan.fit.lead.diameter)
    own, doubt, play = _drawn_play(plan, readings, 0.0)
    mate = chain.inputs[chain.index(f"mate {fit.name}")]
    form = float(mean[f"form {fit.name}"][0])
    if fit.kind == "flush":
        form = -float(np.sum(chain.coated(lead, mean)))
    least, most = lead.place.window
    slope = SLOPE[fit.kind]
    costs = aim.read_costs(plan.library)
    out = aim.outcome(play, own, slope, lead.place.window, costs)
    choices = _choices(
        own, slope, float(play.mean()), lead.place.window, out, costs, plan.fit.forecast.gated
    )
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
    values = np.array([at_reference(plan, reading) for reading in readings])
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


def _choices(
    own: float,
    slope: float,
    play: float,
    window: tuple[float, float],
    out: aim.Outcome,
    costs: aim.Costs,
    again: float,
) -> tuple[Choice, ...]:
    """Accept, take off or add by hand within its reach, or scrap; best first.

    again: odds of fit of another mould that is read and mended.
    """
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
    choices.append(Choice("scrap", "scrap it and make another", again, costs.scrap))
    least, most = window
    inside = least <= play <= most and as_is >= float(out.probability.max()) - aim.WORTH_MENDING
    if inside:
        return tuple(choices)
    rest = sorted(choices[1:], key=lambda choice: choice.minutes)
    return (*rest, choices[0])
