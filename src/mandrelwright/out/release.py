"""The release in words and numbers, for the report and its twin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from mandrelwright.findings.release import in_words
from mandrelwright.plan import Plan
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.release import Release
from mandrelwright.stages.release_checks import when

STEP_HEADS = ("step", "lasts", "temperature", "in", "gap to spare at its end")
NAMES = (
    "travel", "band", "resolved", "best", "margin", "doubt", "odds",
    "odds_as_it_stands", "blame", "tightest", "lets_go", "push", "push_doubt",
    "pull", "push_now", "film", "vacuum", "glass", "glass_margin", "soft_margin", "stated", "gap",
)  # fmt: skip


def steps(release: Release) -> Iterator[tuple[str, ...]]:
    """One line for each step."""
    spare = (release.gap - release.asked).min(axis=1)
    for number, step in enumerate(release.steps):
        ends = int((release.moments.step <= number).nonzero()[0][-1])
        yield (
            str(number + 1),
            show(step.lasts, "h", 1) if step.lasts >= 5400.0 else show(step.lasts, "min", 1),
            show(step.temperature, "degC", 0).replace("-", "−"),
            step.medium,
            _um(float(spare[ends])),
        )


def facts(release: Release) -> Iterator[tuple[str, str]]:
    """What it takes, by name."""
    kinds = [(step.lasts, step.temperature, step.medium) for step in release.steps]
    yield "steps", in_words(kinds, release.shop)
    yield "pull", when(release)
    yield "comes free", f"{100.0 * release.odds:.0f} of 100 by these steps"
    yield "without any step", f"{100.0 * release.odds_as_it_stands:.0f} of 100"
    yield "gap to spare then", show_spread(release.margin, release.doubt, "um", 0).replace("-", "−")
    yield "pushing on its end then", f"{release.push:.0f} N ± {release.push_doubt:.0f} N"
    yield "pulling by its leading end then", f"{release.pull:.0f} N"
    yield "pushing before any step", f"{release.push_now:.0f} N"
    yield "the film lets go by itself", f"at {100.0 * release.lets_go:.0f} of 100 places"
    if release.film > 0.0:
        yield "where it does not, weak", f"{release.film:.0f} N"
    low, high = (max(getattr(p, key) for p in release.places) for key in ("sliding", "stuck"))
    yield (
        "pressure before any step, at most",
        f"{low / 1e3:.0f} kPa sliding, {high / 1e3:.0f} stuck",
    )


def twin(plan: Plan) -> dict[str, Any] | None:
    """The release as plain data, gap by moment and place; None where it was not judged."""
    made = plan.release
    if made is None:
        return None
    decides = made.deciding
    return {
        **{name: getattr(made, name) for name in NAMES},
        "places": [dict(vars(place)) for place in made.places],
        "steps": [dict(vars(step)) for step in made.steps],
        "times": made.moments.times,
        "mould": made.moments.walls,
        "laminate": made.moments.wall,
        "deciding": None if decides is None else dict(vars(decides)),
    }


def _um(value: float) -> str:
    return show(value, "um", 0).replace("-", "−")
