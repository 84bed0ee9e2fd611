"""The one sentence that is told first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.quantities import show, show_spread
from mandrelwright.stages.assembly import Assembly
from mandrelwright.stages.fit import Fit
from mandrelwright.stages.mould import Mould
from mandrelwright.stages.release import Release
from mandrelwright.stages.release_checks import comes_off
from mandrelwright.stages.strength import Strength


@dataclass(frozen=True)
class Verdict:
    """Whether the part can be made, in a sentence or two; whether it comes off the mould.

    level: "open" while no stop stands but some steps are still to be judged.

    comes_off: "no" when its shape interlocks, when its release would ruin it or is hopeless;
    "yes" when four in five come free by the steps told; "not known" otherwise.
    """

    level: Literal["yes", "no", "open"]
    sentence: str
    comes_off: Literal["yes", "no", "not known"]


def give_verdict(
    fit: Fit,
    mould: Mould,
    release: Release | None,
    assembly: Assembly,
    strength: Strength | None,
    stops: Sequence[Finding],
    accepted: int,
) -> Verdict:
    """The sentence, from the stops that stand and the forecast of the leading fit."""
    judged = comes_off(release) if release else "not known"
    off = judged if mould.comes_off else "no"
    if stops:
        return Verdict("no", _stopped(stops), off)
    note = f" {accepted} stop accepted by the builder." if accepted else ""
    bears = _bears(strength)
    return Verdict("yes", f"Can be made. {_forecast(fit, assembly)}{bears}{note}", off)


def give_first_verdict(
    fit: Fit, mould: Mould, assembly: Assembly, stops: Sequence[Finding]
) -> Verdict:
    """The sentence before every step is judged: it says that more may come."""
    off: Literal["no", "not known"] = "not known" if mould.comes_off else "no"
    if stops:
        return Verdict("no", f"{_stopped(stops)} The other steps are being checked.", off)
    checking = "Being checked; nothing stands against it so far."
    return Verdict("open", f"{checking} {_forecast(fit, assembly)}", off)


def _stopped(stops: Sequence[Finding]) -> str:
    """Why it cannot be made."""
    more = f" And {len(stops) - 1} more." if len(stops) > 1 else ""
    return f"Cannot be made as stated. {stops[0].what}{more}"


def _forecast(fit: Fit, assembly: Assembly) -> str:
    """How often it fits, what it weighs."""
    odds = fit.forecast
    unread, ring, gated = map(of_a_hundred, (odds.unread, odds.ring, odds.gated))
    return (
        f"Of 100 first moulds laid up unread {unread} fit; {ring} after a ring is "
        f"printed and measured; {gated} if the mould is read and corrected before waxing. "
        f"Finished it weighs {show_spread(assembly.mass, assembly.mass_spread, 'g', 0)} and "
        f"balances {show(assembly.balance, 'mm', 0)} from its base."
    )


def _bears(strength: Strength | None) -> str:
    """The least reserve of all cases, once the part has been judged as one shell too."""
    worst = strength.worst if strength else None
    if worst is None or math.isnan(worst.alone):
        return ""
    return f" Its least reserve factor is {worst.reserve:.1f}: {worst.name}, by {worst.least.by}."


def of_a_hundred(probability: float) -> int:
    """How many of a hundred, never surer than 1 or 99."""
    return min(max(round(100.0 * probability), 1), 99)


def unaccepted(findings: Sequence[Finding], accepted: Sequence[str]) -> list[Finding]:
    """Stops that stand: not accepted, or not to be accepted because somebody may be hurt."""
    return [
        finding
        for finding in findings
        if finding.level is Level.STOP and (finding.hurts or finding.id not in accepted)
    ]
