"""The verb of the next mould: learn from the log, write corrections, say what they buy."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from mandrelwright.terminal import AsJson, JobPath, LogPlace, console, errors, print_json


def next_mould(
    job: JobPath,
    log: LogPlace = None,
    chart: Annotated[
        Path | None, typer.Option(help="Write the chart of the parts so far, SVG.")
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Say it, write nothing.")] = False,
    as_json: AsJson = False,
) -> None:
    """Learn from the log, correct the next mould, and say what it buys and what to measure."""
    with errors(as_json):
        from mandrelwright.job.corrections import corrections_path, corrections_text
        from mandrelwright.job.read import library_of, read_job
        from mandrelwright.out.files import write_text
        from mandrelwright.plan import make_plan
        from mandrelwright.shop.mould_plan import history_of
        from mandrelwright.shop.next import propose_next
        from mandrelwright.shop.tell import next_lines, next_twin

        stated = read_job(job)
        known = history_of(stated, log)
        proposal = propose_next(make_plan(stated, library_of(stated)), known)
        path = corrections_path(stated.path)
        written = bool(proposal.corrections.inputs) and not dry_run
        if written:
            write_text(path, corrections_text(proposal.corrections))
        if chart is not None and not dry_run:
            from mandrelwright.shop.chart import draw_parts

            write_text(chart, draw_parts(proposal.row, stated.part.name))
    if as_json:
        print_json({"corrections": str(path) if written else None, **next_twin(proposal)})
    else:
        out = console()
        for line in next_lines(proposal):
            out.print(line, markup=False)
        if written:
            out.print(f"Wrote {path}: check, build and gate now start from it.", markup=False)
