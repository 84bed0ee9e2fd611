"""What people read in the terminal; programs take ``--json``."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from mandrelwright.findings.finding import Finding, Level
from mandrelwright.plan import Plan
from mandrelwright.quantities import show_spread
from mandrelwright.shop.answers import GateAnswer
from mandrelwright.shop.questions import SURPRISE
from mandrelwright.stages.release_checks import after
from mandrelwright.stages.stack_checks import Reach, reach
from mandrelwright.verdict import of_a_hundred

MARKS = {
    Level.STOP: "[bold red]stop[/]",
    Level.CAUTION: "[bold yellow]caution[/]",
    Level.NOTE: "[blue]note[/]",
}
WORST = 3  # findings shown in full; the report has them all


def show_plan(console: Console, plan: Plan) -> None:
    """Verdict first; then what to aim at, where sleeves end, whether it comes off, the worst."""
    console.print(f"[bold]{escape(plan.verdict.sentence)}[/]")
    console.print()
    _show_aim(console, plan)
    _show_ends(console, plan)
    _show_off(console, plan)
    if plan.stops:  # else the verdict says so
        _show_finished(console, plan)
    _show_first(console, plan)
    console.print()
    show_findings(console, plan.findings[:WORST])
    rest = len(plan.findings) - WORST
    if rest > 0:
        console.print(f"{rest} more in the report (mw build), or all with --all.")


def _show_aim(console: Console, plan: Plan) -> None:
    fit, lead = plan.fit, plan.fit.lead
    mark = plan.mould.marks[0]
    allowance = fit.gate.aim - fit.outcome.best
    console.print(
        f"Ready to wax, mark {mark.name} ({mark.from_base * 1e3:.0f} mm from the base) must read "
        f"[bold]{_mm(fit.outcome.best)}[/] ({_mm(fit.outcome.least)} to {_mm(fit.outcome.most)}). "
        f"In the print file: {_mm(fit.file_diameter)}"
        + (f", {_mm(allowance)} of it left on for sanding." if allowance > 5e-6 else ".")
    )
    own = " (leads: the odds above are its own)"
    for item in fit.results:
        share = f"{_of_100(item.probability)} fit"
        if item.kind == "flush":
            laid = "with its coats" if item.coats else "as laid"
            share += f" {laid}, {_of_100(item.mendable)} once finished by hand"
        word = "step" if item.kind == "flush" else "clearance"
        console.print(
            f"{escape(item.name)}: {word} {_mm(item.play)} ± {item.spread * 1e3:.2f}; over a mould "
            f"that reads right {share}{own if item is lead else ''}."
        )


def _show_ends(console: Console, plan: Plan) -> None:
    table = Table(box=None, pad_edge=False, header_style="dim")
    for heading in ("layer", "lies from base", "angle", "may start at", "tie"):
        table.add_column(heading)
    limits = reach(plan.shape, plan.stack)
    for number, layer in enumerate(plan.stack.layers):
        there = plan.stack.share[number] > 0.5
        if not there.any():
            continue
        x, theta = plan.mould.curve.x[there], plan.stack.angle[number][there]
        table.add_row(
            escape(layer.label),
            f"{(plan.shape.base - x[-1]) * 1e3:.0f} to {(plan.shape.base - x[0]) * 1e3:.0f} mm",
            f"{theta.min() * 57.29578:.0f} to {theta.max() * 57.29578:.0f}°",
            _may_start(plan, limits[number]),
            plan.layup.pieces[number].tied,
        )
    console.print(table)


def _may_start(plan: Plan, limits: Reach) -> str:
    """The least diameter that the sleeve closes on; blank where nothing keeps it from the tip."""
    if not limits.start > float(plan.stack.mould.x[0]):
        return ""
    return f"⌀ {limits.start_diameter * 1e3:.0f} mm"


def _show_off(console: Console, plan: Plan) -> None:
    words = {
        "yes": "Comes off the mould",
        "no": "Does not come off the mould",
        "not known": "May come off the mould or not",
    }
    odds = "its shape interlocks" if not plan.mould.comes_off else "no sound wall to judge"
    if plan.mould.comes_off and plan.release is not None:
        odds = f"free in {of_a_hundred(plan.release.odds)} of 100 {after(plan.release)}"
    console.print(f"{words[plan.verdict.comes_off]}: {odds}.")


def _show_finished(console: Console, plan: Plan) -> None:
    made = plan.assembly
    mass = show_spread(made.mass, made.mass_spread, "g", 0)
    place = show_spread(made.balance, made.balance_spread, "mm", 0)
    console.print(f"Finished: [bold]{mass}[/], balances {place} from the base.")


def _show_first(console: Console, plan: Plan) -> None:
    """The case with the least reserve: where, how, and what tells it."""
    worst = plan.strength.worst if plan.strength else None
    if worst is not None:
        console.print(
            f"Least reserve factor [bold]{worst.reserve:.1f}[/]: {escape(worst.name)}, "
            f"{escape(worst.least.how)}, {abs(plan.shape.base - worst.least.x) * 1e3:.0f} mm from "
            f"the base, by {worst.least.by}."
        )


def show_findings(console: Console, findings: Iterable[Finding]) -> None:
    """Findings with what, why and what to do."""
    for finding in findings:
        console.print(f"{MARKS[finding.level]} {escape(finding.what)} [dim]({finding.id})[/]")
        console.print(f"  [dim]{escape(finding.why)}[/]")
        for remedy in finding.do:
            console.print(f"  → {escape(remedy)}")
    console.print()


def show_gate(console: Console, answer: GateAnswer) -> None:
    """The instruction first, then the odds and the other choices."""
    best = answer.best
    console.print(f"[bold]{escape(best.text[0].upper() + best.text[1:])}.[/]")
    if best.amount:
        console.print(f"Then it should read {_mm(answer.estimate + best.amount)}.")
    what = "part" if answer.stage == "part" else "mould, ready to wax,"
    console.print(
        f"The {what} is {_mm(answer.estimate)} ± {answer.spread * 1e3:.3f} mm; aim at "
        f"{_mm(answer.target)} ({_mm(answer.least)} to {_mm(answer.most)})."
    )
    console.print(
        f"Fits {_of_100(answer.before)} laid up unread from this print file, "
        f"{_of_100(answer.as_is)} as it is now, "
        f"[bold]{_of_100(answer.after)}[/] after this."
    )
    if answer.verdict:
        console.print(f"As it is, with a guard band for the doubt of reading: {answer.verdict}.")
    if answer.logged:
        console.print(f"{answer.logged} reading{'s' * (answer.logged != 1)} of the log joined in.")
    if answer.pulled:
        console.print(f"[dim]{escape(answer.pulled)}[/]")
    for choice in answer.choices[1:]:
        console.print(f"  or {escape(choice.text)}: fits {_of_100(choice.probability)}")
    if answer.questioned > SURPRISE:
        console.print(
            f"[yellow]The reading lies {answer.questioned:.0f} standard uncertainties from what "
            "was expected: read it again before you act.[/]"
        )


def _mm(length: float) -> str:
    return f"{length * 1e3:.2f} mm"


def _of_100(probability: float) -> str:
    return f"{of_a_hundred(probability)} of 100"
