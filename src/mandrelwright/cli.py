"""The command line: new, check, build, gate, bench, why, materials, schema; more in cli_*.

Exit 0: done. Exit 1: a plan exists and a stop stands. Exit 2: no plan can be computed, or the
input is malformed. Heavy modules are imported by the command that needs them.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mandrelwright import cli_shop, plan_job
from mandrelwright.cli_measure import measure
from mandrelwright.cli_next import next_mould
from mandrelwright.terminal import (
    AsJson,
    JobPath,
    LogPlace,
    console,
    errors,
    print_json,
    print_lines,
    refuse_existing,
)
from mandrelwright.threads import use_one_thread

if TYPE_CHECKING:
    from mandrelwright.plan import Plan

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    help="From measured sizes to a fibre and epoxy part that fits: mould, layers, odds, gate.",
)


app.command("next")(next_mould)


def main() -> None:
    """Entry point of ``mandrelwright`` and ``mw``."""
    use_one_thread()
    app()


@app.command()
def new(
    to: Annotated[Path, typer.Argument(metavar="JOB", help="File to write; must not exist.")],
) -> None:
    """Ask six questions and write a commented job file, every default marked as one."""
    from mandrelwright.ask import ask
    from mandrelwright.job.new import new_job
    from mandrelwright.out.files import write_text

    with errors(as_json=False):
        refuse_existing(to)
        write_text(to, new_job(ask(to.stem)))
    typer.echo(f"Wrote {to}. Next: mw check {to}")


@app.command()
def check(
    job: JobPath,
    as_json: AsJson = False,
    every: Annotated[bool, typer.Option("--all", help="Show every finding.")] = False,
    adopt: Annotated[
        Path | None,
        typer.Option(help="Write a job with the proposed sleeve sizes and ends to this file."),
    ] = None,
) -> None:
    """Say in one sentence whether it can be made and how likely it fits, then why."""
    with errors(as_json):
        plan = plan_job(job)
        if as_json:
            from mandrelwright.out.twin import twin

            print_json(twin(plan))
        else:
            _show_check(plan, every)
        if plan.stops or adopt:
            _propose(job, plan, adopt, quiet=as_json)
    raise typer.Exit(1 if plan.stops else 0)


@app.command()
def build(
    job: JobPath,
    to: Annotated[Path | None, typer.Option(help="Folder; out/<job name> unless given.")] = None,
    date: Annotated[
        str, typer.Option(help="Date for the build sheet, 2026-11-25; a blank unless given.")
    ] = "",
    step: Annotated[
        bool, typer.Option("--step", help="Write mould.step too; needs mandrelwright[step].")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Write drawings, report, mould, bench aids and build sheet, whole or not at all."""
    with errors(as_json):
        _refuse_no_date(date)
        plan = plan_job(job)
        from mandrelwright.out.build import build as write

        folder = to or Path("out") / job.stem
        names = write(plan, folder, _progress(as_json), date, step)
    if as_json:
        print_json({"folder": str(folder), "files": names, "verdict": plan.verdict.sentence})
    else:
        typer.echo(plan.verdict.sentence)
        missing = " (nothing to make it with: a stop stands)" if plan.stops else ""
        typer.echo(f"{folder}: {len(names)} files{missing}")
    raise typer.Exit(1 if plan.stops else 0)


@app.command()
def gate(
    job: JobPath,
    mark: Annotated[
        list[str] | None, typer.Option(help='Reading, "A=98.31" (mm) or "A=3.871 in"; repeatable.')
    ] = None,
    readings: Annotated[Path | None, typer.Option(help="TOML file with [[reading]].")] = None,
    stage: Annotated[
        str, typer.Option(help="printed, ready (to wax) or part (its own fit diameter).")
    ] = "ready",
    at: Annotated[str | None, typer.Option(help='Temperature when read, "23 degC".')] = None,
    mould: Annotated[
        str | None, typer.Option(help="This mould in the log: its readings there join, or do.")
    ] = None,
    log: LogPlace = None,
    as_json: AsJson = False,
) -> None:
    """Turn a reading of this mould or part into an instruction, with the odds before and after."""
    from mandrelwright.job.records import read_mark, read_readings
    from mandrelwright.job.values import InputError

    with errors(as_json):
        taken = [read_mark(text, stage, at) for text in mark or []]
        taken += read_readings(readings) if readings else []
        if not taken and mould is None:
            raise InputError("no reading is given", "add --mark A=98.31, --readings or --mould")
        from mandrelwright.shop.gate import ask_gate, kept_readings

        if mould is None:
            answer = ask_gate(plan_job(job), taken)
        else:
            from mandrelwright.shop.mould_plan import plan_of_mould

            plan, record = plan_of_mould(job, mould, log)
            answer = ask_gate(plan, taken or kept_readings(record, stage), record)
    if as_json:
        from dataclasses import asdict

        print_json({"instruction": answer.best.text, **asdict(answer)})
    else:
        from mandrelwright.screen import show_gate

        show_gate(console(), answer)
    raise typer.Exit(1 if answer.best.action in ("reprint", "scrap") else 0)


@app.command()
def why(
    job: JobPath,
    name: Annotated[
        str | None, typer.Argument(metavar="NAME", help="Result to explain; none: list them.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Explain any result back to its inputs, equation and sources."""
    with errors(as_json):
        plan = plan_job(job)
        from mandrelwright.why import explain, names, text_lines, to_dict

        if name is None:
            known = names(plan)
            print_json(known) if as_json else print_lines(known)
        else:
            found = explain(plan, name)
            print_json(to_dict(found)) if as_json else print_lines(text_lines(found))


@app.command()
def materials(
    own: Annotated[Path | None, typer.Option(help="The builder's own material file.")] = None,
    group: Annotated[
        str | None, typer.Argument(metavar="GROUP", help="fibres, resins, plastics, …")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """List the material library: every number with spread, basis and source."""
    from mandrelwright.job.listing import rows_of
    from mandrelwright.job.materials import load_library

    with errors(as_json):
        rows = rows_of(load_library(own), group)
    if as_json:
        print_json(rows)
    else:
        print_lines(
            f"{row['group']} · {row['entry']} · {row['property']}: {row['text']}"
            f" [{row['basis']}] {row['source']}"
            for row in rows
        )


@app.command()
def schema() -> None:
    """Print the JSON Schema of a job file, for an editor."""
    from mandrelwright.job.spec import job_schema

    print_json(job_schema())


@app.command()
def bench(
    job: Annotated[
        Path | None, typer.Argument(metavar="JOB", help="Job file; none: the six questions.")
    ] = None,
    port: Annotated[int, typer.Option(min=1024, max=65535, help="Port to serve on.")] = 8410,
    address: Annotated[
        str, typer.Option(help="Address of this computer; others than its own ask for a code.")
    ] = "127.0.0.1",
) -> None:
    """Open the job in a browser: change a number, watch the section, build, read the gate."""
    with errors(as_json=False):
        from mandrelwright.bench.serve import serve

        serve(job, address, port)


for _name, _verb in {"measure": measure, **cli_shop.VERBS}.items():
    app.command(_name)(_verb)


def _show_check(plan: Plan, every: bool) -> None:
    from mandrelwright.screen import show_findings, show_plan

    screen = console()
    show_plan(screen, plan)
    if every:
        show_findings(screen, plan.findings[3:])


def _propose(path: Path, plan: Plan, to: Path | None, quiet: bool) -> None:
    """Say what would make it possible, and write it to a new job when asked."""
    from mandrelwright.advice import settle
    from mandrelwright.out.files import write_text

    settled = settle(path.read_text(encoding="utf-8"), plan)
    if not quiet and settled.changes:
        print_lines(["Proposed:", *(f"  {change}" for change in settled.changes)])
        left = len(settled.plan.stops)
        print_lines([settled.plan.verdict.sentence if left == 0 else f"{left} stops would remain."])
    if to is not None:
        refuse_existing(to)
        write_text(to, settled.text)
        if not quiet:
            typer.echo(f"Wrote {to}.")


def _refuse_no_date(text: str) -> None:
    """A date is given as on the calendar, in one way; raises InputError."""
    from datetime import date

    from mandrelwright.job.values import InputError

    try:
        known = text == "" or date.fromisoformat(text).isoformat() == text
    except ValueError:
        known = False
    if not known:
        raise InputError(f"--date {text} is no date", "write year-month-day: 2026-11-25")


def _progress(quiet: bool) -> Any:
    """Tells each file before it is made, on the error stream."""
    return (lambda name: None) if quiet else (lambda name: typer.echo(f"  {name}", err=True))
