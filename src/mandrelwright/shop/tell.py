"""What the next mould is told as: lines for people, a twin for programs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from mandrelwright.job.corrections import Corrected
from mandrelwright.quantities import show_spread
from mandrelwright.shop.next import Proposal
from mandrelwright.shop.parts import Life, Row
from mandrelwright.verdict import of_a_hundred

MOST_SHOWN = 6
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
        f"Of 100 parts {of_a_hundred(now.unread)} fit laid up unread (before: "
        f"{of_a_hundred(was.unread)}), {of_a_hundred(now.gated)} with the prepared mould read and "
        f"mended (before: {of_a_hundred(was.gated)})."
    )
    for size in proposal.sizes:
        change = (size.after - size.before) * 1e3
        yield (
            f"Mark {size.mark} in the print file: {size.after * 1e3:.2f} mm (before: "
            f"{size.before * 1e3:.2f} mm, {change:+.2f})."
        )
    yield (
        f"Ready to wax, mark {after.mould.marks[0].name} must read "
        f"{after.fit.outcome.best * 1e3:.2f} mm (before: {before.fit.outcome.best * 1e3:.2f} mm)."
    )
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
    yield "Learned:"
    for item in moved[:MOST_SHOWN]:
        unit = units[item.name]
        was = show_spread(item.prior, item.prior_spread, unit, 3) if unit else f"{item.prior:.3f}"
        now = show_spread(item.mean, item.spread, unit, 3) if unit else f"{item.mean:.3f}"
        yield f"  {item.name}: {now} (before: {was}; readings: {item.readings})"
    for link, factor in proposal.lesson.factors.items():
        if abs(math.log(factor)) > 0.1:
            word = "larger" if factor > 1.0 else "smaller"
            yield f"  spread of {link}: {math.sqrt(factor):.2f} times the guess, {word}"


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
            f"Odd: {odd.what} lies {abs(odd.deviation):.1f} standard uncertainties from what the "
            f"rest say, {kept}{_entry(odd.entries)}."
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
            f"{lead} {gain.what}: {100 * gain.unread:.1f} of 100 unread instead of "
            f"{100 * now.unread:.1f}, {100 * gain.gated:.1f} instead of {100 * now.gated:.1f} read."
        )


def row_lines(row: Row) -> Iterator[str]:
    """Parts so far: each with its verdict, the chart, C_pk, mould life, cost."""
    for part in row.parts:
        ended = f"; when tried: {part.outcome}" if part.outcome else ""
        yield (
            f"Part {part.part} on {part.mould}: clearance {part.play * 1e3:.2f} ± "
            f"{part.doubt * 1e3:.2f} mm, by its reading: {part.verdict}{ended}."
        )
    if row.chart:
        chart = row.chart
        out = f"; outside: {', '.join(row.out)}" if row.out else ""
        drift = " Neighbours are alike: the row drifts." if row.neighbours > TREND else ""
        yield (
            f"Chart of {len(row.parts)} parts: centre {chart.centre * 1e3:.3f} mm, limits "
            f"{chart.lower * 1e3:.3f} to {chart.upper * 1e3:.3f} mm{out}.{drift}"
        )
    if row.capability:
        able = row.capability
        yield f"C_pk {able.achieved:.2f} (95 %: {able.least:.2f} to {able.most:.2f})."
    yield from map(_life, row.lives)
    if row.cost:
        yield (
            f"A part that fits has cost {row.cost.money:.2f} and {row.cost.hours / 3600.0:.1f} h "
            f"({row.cost.fitting} of {len(row.parts)} read)."
        )


def _life(life: Life) -> str:
    """How a mould's parts change."""
    trend = f"{life.slope * 1e3:+.3f} ± {life.half_width * 1e3:.3f} mm a part (95 %)"
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
        "finishing": vars(proposal.finishing) if proposal.finishing else None,
    }
