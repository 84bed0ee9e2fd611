"""The dimension chain of the leading fit as a ladder from its mate to the print file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mandrelwright.findings.fit import measure
from mandrelwright.job.shelf import STRONG_BASES
from mandrelwright.out.frame import SIZE, SLEEVES, WIDTH
from mandrelwright.out.svg import (
    CAUTION,
    GOOD,
    HAIR,
    INK,
    PAPER,
    SOFT,
    Drawing,
    Hatch,
    fitted,
    text_width,
    tick_label,
    ticks,
    wrapped,
)
from mandrelwright.plan import Plan
from mandrelwright.stages.corrected import THIS_SHOP
from mandrelwright.stages.fit import Link

RUNG = 23.0
HEAD = 70.0
LABEL = 232.0  # right edge of the labels
LEFT, RIGHT = 246.0, 606.0  # the scale of diameters
VALUE, SPREAD, BASIS = 672.0, 746.0, 762.0  # columns
GROWS, SHRINKS = SLEEVES[0][0], SLEEVES[1][0]
CERTAIN = (*STRONG_BASES, "stated", "derived", "total", THIS_SHOP)
BLAMED = 4
NOTE = (
    "mm on the diameter; whiskers and ± are one standard uncertainty; hatched bars are not "
    "known at first hand"
)
BAR, AFTER = 130.0, 8.0  # of the two small bar charts at the foot


@dataclass(frozen=True)
class Rung:
    """A link and the diameters (m) between which its bar runs."""

    link: Link
    before: float
    after: float

    @property
    def weak(self) -> bool:
        """Whether nobody measured this or read it at its origin."""
        return self.link.basis not in CERTAIN


def rungs(links: Sequence[Link]) -> list[Rung]:
    """The links with running sums; totals and the first one stand at their own value."""
    out: list[Rung] = []
    at = 0.0
    for link in links:
        stands = not out or link.basis == "total"
        before, at = at, (link.change if stands else at + link.change)
        out.append(Rung(link, at if stands else before, at))
    return out


def draw_ladder(plan: Plan) -> str:
    """The ladder as one SVG text, with the forecast and what is to blame under it."""
    fit, lead = plan.fit, plan.fit.lead
    drawing = Drawing(
        "ladder", WIDTH, f"From the mate of {lead.name} to the print file",
        "Every step of the dimension chain in millimetres of diameter with its spread; below, how "
        "often the first part fits and what the doubt is owed to.",
    )  # fmt: skip
    steps = rungs(fit.links)
    title = f"From the mate to the print file: {fitted(lead.name, 13.0, 300.0)}"
    drawing.text(14.0, 22.0, title, 13.0, bold=True)
    drawing.text(14.0, 38.0, NOTE, SIZE, fill=SOFT)
    scale = _scale(drawing, steps)
    for row, step in enumerate(steps):
        _rung(drawing, plan, scale, step, HEAD + RUNG * (row + 0.5))
    top = HEAD + RUNG * len(steps) + 52.0
    top = _forecast(drawing, plan, top)
    return drawing.finish(_blame(drawing, plan, top + 18.0))


@dataclass(frozen=True)
class _Diameters:
    """Scale of the ladder: diameter (m) to units across."""

    low: float
    high: float

    def at(self, diameter: float) -> float:
        """Units across of a diameter, kept inside the scale."""
        share = (diameter - self.low) / (self.high - self.low)
        return LEFT + min(max(share, 0.0), 1.0) * (RIGHT - LEFT)


def _scale(drawing: Drawing, steps: list[Rung]) -> _Diameters:
    """A scale that holds every bar and whisker, drawn under the rungs."""
    ends = [d + s * step.link.spread for step in steps for d in (step.before, step.after)
            for s in (-1.0, 1.0)]  # fmt: skip
    pad = 0.03 * max(max(ends) - min(ends), 1e-4)
    scale = _Diameters(min(ends) - pad, max(ends) + pad)
    foot = HEAD + RUNG * len(steps) + 4.0
    values = ticks(scale.low * 1e3, scale.high * 1e3, 6)
    step_mm = values[1] - values[0] if len(values) > 1 else 1.0
    for value in values:
        x = scale.at(value * 1e-3)
        drawing.line(x, HEAD - 4.0, x, foot, HAIR, 0.6)
        drawing.text(x, foot + 12.0, tick_label(value, step_mm), SIZE, "middle", SOFT)
    drawing.text(RIGHT + 20.0, foot + 12.0, "ø mm", SIZE, fill=SOFT)
    for x, head, anchor in ((VALUE, "adds", "end"), (SPREAD, "spread", "end"),
                            (BASIS, "known from", "start")):  # fmt: skip
        drawing.text(x, HEAD - 8.0, head, SIZE, anchor, SOFT)
    return scale


def _rung(drawing: Drawing, plan: Plan, scale: _Diameters, step: Rung, y: float) -> None:
    """One rung: label, bar with whisker, what it adds, its spread and basis."""
    link = step.link
    if link.basis == "total":
        _total(drawing, plan, scale, step, y)
        return
    drawing.text(LABEL, y + 4.0, fitted(link.label, SIZE, LABEL - 14.0), SIZE, "end")
    first = step.before == step.after == link.change
    if first:
        drawing.add("circle", cx=scale.at(step.after), cy=y, r=4.0, fill=INK)
        drawing.text(VALUE, y + 4.0, f"{link.change * 1e3:.2f}", SIZE, "end")
    else:
        _bar(drawing, scale, step, y)
        drawing.text(VALUE, y + 4.0, _signed(link.change), SIZE, "end")
    if link.spread > 0.0:
        _whisker(drawing, scale, step.after, link.spread, y)
        drawing.text(SPREAD, y + 4.0, f"± {link.spread * 1e3:.2f}", SIZE, "end", SOFT)
    ink = CAUTION if step.weak else SOFT
    drawing.text(BASIS, y + 4.0, fitted(link.basis, SIZE, WIDTH - BASIS - 8.0), SIZE, fill=ink,
                 bold=step.weak)  # fmt: skip


def _bar(drawing: Drawing, scale: _Diameters, step: Rung, y: float) -> None:
    """From the diameter before to the one after; hatched when weakly known."""
    grows = step.after >= step.before
    ink = GROWS if grows else SHRINKS
    left, right = sorted((scale.at(step.before), scale.at(step.after)))
    fill: str | Hatch = ink
    if step.weak:
        fill = Hatch(PAPER, ink, "rising", 4.0)
    drawing.rect(left, y - 6.0, max(right - left, 1.5), 12.0, fill, stroke=ink)
    drawing.line(scale.at(step.after), y + 6.0, scale.at(step.after), y + RUNG - 6.0, SOFT, 0.6)


def _whisker(drawing: Drawing, scale: _Diameters, at: float, spread: float, y: float) -> None:
    left, right = scale.at(at - spread), scale.at(at + spread)
    drawing.line(left, y, right, y, PAPER, 3.4)
    drawing.line(left, y, right, y, INK, 1.2)
    for x in (left, right):
        drawing.line(x, y - 3.5, x, y + 3.5, INK, 1.2)


def _total(drawing: Drawing, plan: Plan, scale: _Diameters, step: Rung, y: float) -> None:
    """A diameter to reach; for the prepared mould the readings that are good enough."""
    link, out = step.link, plan.fit.outcome
    drawing.line(LABEL - 160.0, y - RUNG / 2, WIDTH - 14.0, y - RUNG / 2, INK, 0.8)
    drawing.text(LABEL, y + 4.0, fitted(link.label, SIZE, LABEL - 14.0), SIZE, "end", bold=True)
    drawing.text(VALUE, y + 4.0, f"{link.change * 1e3:.2f}", SIZE, "end", bold=True)
    x = scale.at(link.change)
    if link.change == out.best:
        left, right = scale.at(out.least), scale.at(out.most)
        drawing.rect(left, y - 7.0, right - left, 14.0, GOOD, fill_opacity=0.25, stroke=GOOD)
        said = f"{out.least * 1e3:.2f} to {out.most * 1e3:.2f}: lay up"
        drawing.text(VALUE + 12.0, y + 4.0, fitted(said, SIZE, WIDTH - VALUE - 18.0), SIZE,
                     fill=GOOD)  # fmt: skip
    drawing.line(x, y - 9.0, x, y + 9.0, INK, 2.2)


def _signed(change: float) -> str:
    text = f"{change * 1e3:+.2f}"
    return "0.00" if float(text) == 0.0 else text.replace("-", "−")


def _forecast(drawing: Drawing, plan: Plan, top: float) -> float:
    """How often the first part fits, by what is read before resin is mixed."""
    odds = plan.fit.forecast
    drawing.text(14.0, top, "How many of 100 first parts fit", 12.0, bold=True)
    rows = (
        ("laid up unread", odds.unread, "printed for the wanted size, nothing measured"),
        ("after one ring", odds.ring, "a ring at the fit's diameter printed and measured first"),
        ("read and corrected", odds.gated, "the prepared mould read and, where worth it, mended"),
    )
    top += 20.0
    for label, share, note in rows:
        top += _small_bar(drawing, top, label, share, f"{_of_hundred(share)}", note, GOOD)
    return top


def _of_hundred(probability: float) -> int:
    """Of a hundred, never surer than 1 or 99, as the verdict says it."""
    return min(max(round(100.0 * probability), 1), 99)


def _blame(drawing: Drawing, plan: Plan, top: float) -> float:
    """What the doubt about a mould laid up unread is owed to, and what to measure next."""
    drawing.text(14.0, top, "What the doubt about an unread mould is owed to, and what to measure",
                 12.0, bold=True)  # fmt: skip
    top += 20.0
    for name, share in plan.fit.blame[:BLAMED]:
        top += _small_bar(
            drawing, top, name, share, f"{100.0 * share:.0f} %", measure(name), CAUTION
        )
    return top + 4.0


def _small_bar(
    drawing: Drawing, y: float, label: str, share: float, value: str, note: str, ink: str
) -> float:
    """Label, a bar of 0 to 1, its value and a note; returns how much lower the next one stands."""
    x = 158.0
    drawing.text(x - 8.0, y + 4.0, fitted(label, SIZE, x - 22.0), SIZE, "end")
    drawing.rect(x, y - 6.0, BAR, 12.0, "none", stroke=HAIR)
    drawing.rect(x, y - 6.0, BAR * min(max(share, 0.0), 1.0), 12.0, ink, fill_opacity=0.7)
    value_end = x + BAR + AFTER + text_width("100 %", SIZE)
    drawing.text(value_end, y + 4.0, value, SIZE, "end", bold=True)
    left = value_end + 14.0
    lines = wrapped(note, SIZE, WIDTH - left - 10.0)
    for number, line in enumerate(lines):
        drawing.text(left, y + 4.0 + 14.0 * number, line, SIZE, fill=SOFT)
    return 6.0 + 14.0 * len(lines)
