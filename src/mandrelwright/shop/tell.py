"""What the next mould is told as: lines for people, a twin for programs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from mandrelwright.findings.fit import means
from mandrelwright.job.corrections import Corrected
from mandrelwright.quantities import show_spread
from mandrelwright.shop.next import Proposal
from mandrelwright.shop.parts import Life, Row
from mandrelwright.verdict import of_a_hundred

MOST_SHOWN = 6
SAME_LENGTH = 2e-5  # relative: 0.01 mm on a long nose
DIFFER = {"print": "prints", "surface": "treatments", "lay-up": "lay-ups", "form": "ovals"}
TREND = 0.4  # likeness of neighbours from which on a row is said to drift, assumed


def next_lines(proposal: Proposal) -> Iterator[str]:
    """Verdict first, then sizes, what was learned, what is odd, what to measure, the parts."""
    told, before, after = proposal.corrections, proposal.before, proposal.after
    if not told.inputs:
        yield "The log holds no reading that tells anything of this job: nothing is corrected."
        yield from proposal.lesson.observed.unused
        return
    moulds, readings = len(told.moulds), told.readings
    yield (
        f"The next mould rests on {readings} reading{'s' * (readings != 1)} of {moulds} "
        f"mould{'s' * (moulds != 1)}."
    )
    was, now = before.fit.forecast, after.fit.forecast
    yield (
        f"Of 100 parts {of_a_hundred(now.unread)} fit when the mould is laid up unread (before: "
        f"{of_a_hundred(was.unread)}), {of_a_hundred(now.gated)} with the prepared mould read and "
        f"mended (before: {of_a_hundred(was.gated)})."
    )
    for size in proposal.sizes:
        change = round((size.after - size.before) * 1e3, 2) + 0.0  # no minus before nothing
        yield (
            f"Mark {size.mark} in the print file: {size.after * 1e3:.2f} mm (before: "
            f"{size.before * 1e3:.2f} mm, {change:+.2f})."
        )
    yield (
        f"Ready to wax, mark {after.mould.marks[0].name} must read "
        f"{after.fit.outcome.best * 1e3:.2f} mm (before: {before.fit.outcome.best * 1e3:.2f} mm)."
    )
    yield from _stretched(proposal)
    yield from _learned(proposal)
    yield from _odd(proposal)
    yield from _gains(proposal)
    yield from row_lines(proposal.row)
    coat = proposal.finishing
    if coat:
        yield (
            f"Fill and paint add {coat.centre * 1e3:.2f} ± {coat.scale * 1e3:.2f} mm a side "
            f"(parts read before and after: {coat.parts}); state it where an outside must fit."
        )


def _learned(proposal: Proposal) -> Iterator[str]:
    """The inputs that moved or narrowed most."""
    units = {item.name: item.unit for item in proposal.lesson.chain.inputs}
    moved = sorted(proposal.corrections.inputs, key=_news, reverse=True)
    yield "Learned, what moved or narrowed most first:"
    for item in moved[:MOST_SHOWN]:
        unit = units[item.name]
        was = show_spread(item.prior, item.prior_spread, unit, 3) if unit else f"{item.prior:.3f}"
        now = show_spread(item.mean, item.spread, unit, 3) if unit else f"{item.mean:.3f}"
        yield f"  {means(item.name)}: {now} (before: {was}; readings: {item.readings})"
    for link, factor in proposal.lesson.factors.items():
        if abs(math.log(factor)) > 0.1:
            word = "more" if factor > 1.0 else "less"
            times = f"{math.sqrt(factor):.2f} times as much as guessed"
            yield f"  {DIFFER[link]} differ {word} from one to the next: {times}"
    yield from _mixed(proposal)


def _stretched(proposal: Proposal) -> Iterator[str]:
    """What the shrink upwards does to the lengths of the print file."""
    was, now = (plan.fit.sizes.shrink_up for plan in (proposal.before, proposal.after))
    longer = (1.0 - was) / (1.0 - now) - 1.0
    if abs(longer) > SAME_LENGTH:
        word = "longer" if longer > 0.0 else "shorter"
        yield f"Along its axis the print file is {100.0 * abs(longer):.2f} % {word} than before."


def _mixed(proposal: Proposal) -> Iterator[str]:
    """What bores tell in one sum, and what would part it."""
    mixed = proposal.mixed
    if mixed is None:
        return
    *rest, last = mixed.names
    yield (
        f"  bore less its mould: {mixed.shift * 1e3:+.3f} mm ± {mixed.spread * 1e3:.3f} from the "
        f"plan (before: ± {mixed.before * 1e3:.3f}), by {', '.join(rest)} and {last} together"
    )
    yield (
        "  Bores cannot tell these apart, and the next mould needs their sum alone. To part them, "
        f"should film, resin or room change: {'; '.join(mixed.ways)}."
    )


def _news(item: Corrected) -> float:
    """How much an input's learning says, in spreads: shift and change of the spread."""
    spread = max(item.prior_spread, 1e-300)
    return abs(item.mean - item.prior) / spread + abs(item.spread / spread - 1.0)


def _odd(proposal: Proposal) -> Iterator[str]:
    """What is questioned, odd or unused; each is named, none is dropped in silence."""
    for asked in proposal.lesson.questioned:
        yield f"Question: {asked.where} reads {asked.question}{_entry((asked.entry,))}."
    for odd in proposal.lesson.odd:
        kept = f"counts {100.0 * odd.kept:.0f} %" if odd.kept < 1.0 else "counts in full"
        yield (
            f"Odd: {odd.what} lies {abs(odd.deviation):.1f} times its doubt from what the rest "
            f"say; it {kept}{_entry(odd.entries)}."
        )
    for text in proposal.lesson.observed.unused:
        yield f"Not used: {text}."


def _entry(entries: tuple[int, ...]) -> str:
    numbers = ", ".join(str(entry) for entry in entries if entry)
    return f" (log entry {numbers})" if numbers else ""


def _gains(proposal: Proposal) -> Iterator[str]:
    """What to measure next."""
    now = proposal.after.fit.forecast
    if not proposal.gains:
        yield "No single measurement would make the next part noticeably surer."
    for number, gain in enumerate(proposal.gains[:3]):
        lead = "Or" if number else "To gain most, measure"
        yield (
            f"{lead} {gain.what}: of 100 parts {100 * gain.unread:.1f} then fit unread instead of "
            f"{100 * now.unread:.1f}, {100 * gain.gated:.1f} instead of {100 * now.gated:.1f} with "
            f"the mould read and mended."
        )


def row_lines(row: Row) -> Iterator[str]:
    """Parts so far: each with its verdict, the chart, C_pk, mould life, cost."""
    for part in row.parts:
        ended = f"; when tried: {part.outcome}" if part.outcome else ""
        yield (
            f"Part {part.part} on mould {part.mould}: clearance {part.play * 1e3:.2f} ± "
            f"{part.doubt * 1e3:.2f} mm, by its reading: {part.verdict}{ended}."
        )
    if row.chart:
        chart = row.chart
        out = f"; not these: {', '.join(row.out)}" if row.out else ""
        drift = " Each part is like the one before it: something drifts." * (row.neighbours > TREND)
        yield (
            f"Chart of {len(row.parts)} parts: they lie about {chart.centre * 1e3:.3f} mm; while "
            f"nothing changes nearly all lie from {chart.lower * 1e3:.3f} to "
            f"{chart.upper * 1e3:.3f} mm{out}.{drift}"
        )
    if row.capability:
        able = row.capability
        yield (
            f"C_pk {able.achieved:.2f} (95 %: {able.least:.2f} to {able.most:.2f}): the way from "
            "the mean to the nearer end of the window, in three spreads; over 1 nearly all fit."
        )
    yield from map(_life, row.lives)
    if row.cost:
        yield (
            f"A part that fits has cost {row.cost.money:.2f} and {row.cost.hours / 3600.0:.1f} h "
            f"({row.cost.fitting} of the {len(row.parts)} read fit)."
        )


def _life(life: Life) -> str:
    """How a mould's parts change."""
    half = f"{life.half_width * 1e3:.3f} mm a part (95 %)"
    trend = f"its clearance goes by {life.slope * 1e3:+.3f} ± {half}"
    if life.left is None:
        return f"Mould {life.mould}: {life.parts} parts, {trend}: no wear can be seen."
    return f"Mould {life.mould}: {life.parts} parts, {trend}: about {life.left} more fit."


def next_twin(proposal: Proposal) -> dict[str, Any]:
    """The same as plain values, SI."""
    was, now = proposal.before.fit.forecast, proposal.after.fit.forecast
    lesson, row = proposal.lesson, proposal.row
    return {
        "readings": proposal.corrections.readings,
        "moulds": list(proposal.corrections.moulds),
        "sizes": [vars(size) for size in proposal.sizes],
        "ready": {
            "before": proposal.before.fit.outcome.best,
            "after": proposal.after.fit.outcome.best,
        },
        "fits": {"before": vars(was), "after": vars(now)},
        "inputs": [vars(item) for item in proposal.corrections.inputs],
        "factors": lesson.factors,
        "questioned": [vars(item) for item in lesson.questioned],
        "odd": [vars(item) for item in lesson.odd],
        "unused": list(lesson.observed.unused),
        "gains": [vars(gain) for gain in proposal.gains],
        "parts": [vars(part) for part in row.parts],
        "chart": row.chart._asdict() if row.chart else None,
        "capability": row.capability._asdict() if row.capability else None,
        "lives": [vars(life) for life in row.lives],
        "cost": vars(row.cost) if row.cost else None,
        "mixed": vars(proposal.mixed) if proposal.mixed else None,
        "finishing": vars(proposal.finishing) if proposal.finishing else None,
    }
