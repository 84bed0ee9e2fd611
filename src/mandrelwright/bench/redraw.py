"""What a worker does with the text of a job: edit it, plan it, draw it. Pure: text in, data out.

Everything here runs in a process of its own and returns plain data, so that the server never
waits and two builders never meet.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import asdict
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any

import numpy as np

from mandrelwright.bench.edits import Edit, apply
from mandrelwright.bench.face import (
    Units,
    axis_of,
    ends_of,
    facts_of,
    findings_of,
    marks_of,
    steps_of,
    used_of,
)
from mandrelwright.bench.form import form_of
from mandrelwright.bench.steps import STEPS, WAITING
from mandrelwright.draft import make_draft
from mandrelwright.job.corrections import Corrections, read_corrections
from mandrelwright.job.materials import MaterialError
from mandrelwright.job.new import Answers, new_job
from mandrelwright.job.problems import JobError
from mandrelwright.job.read import job_of, library_of
from mandrelwright.job.records import read_mark
from mandrelwright.job.values import InputError
from mandrelwright.out.cure_chart import draw_cure
from mandrelwright.out.flight_chart import draw_flight
from mandrelwright.out.ladder import draw_ladder
from mandrelwright.out.release_chart import draw_release
from mandrelwright.out.section import draw_section
from mandrelwright.out.strips import draw_first_strips, draw_last_strips
from mandrelwright.plan import Plan, make_plan
from mandrelwright.stages.layers import PlanError

Data = dict[str, Any]
LARGE = 3 << 20  # floats: 24 MB, of which nothing is touched
REMEMBERED = 8  # plans a worker keeps; a plan is a pure function of folder and text


def warm() -> None:
    """Importing this module is most of the warming.

    glibc gives memory back to the system from twice the largest block ever freed (mallopt(3)); a
    redraw that has to fetch its 7 MB anew takes 4 ms longer.
    """
    np.empty(LARGE)


def refused(answer: Callable[..., Data]) -> Callable[..., Data]:
    """Turn what cannot be read or planned into problems, each with its field."""

    @wraps(answer)
    def told(*arguments: Any) -> Data:
        try:
            return answer(*arguments)
        except JobError as error:
            return {"problems": [asdict(problem) for problem in error.problems]}
        except InputError as error:
            field = ".".join(map(str, error.at))
            return _one(field, error.limit, error.remedy)
        except MaterialError as error:
            return _one("materials.file", f"{error.field} {error.reason}", error.remedy)
        except PlanError as error:
            return _one("", str(error), "change the job")

    return told


def _one(field: str, limit: str, remedy: str) -> Data:
    problem = {"file": "", "line": 0, "field": field, "value": "", "limit": limit}
    return {"problems": [{**problem, "remedy": remedy}]}


def _plan(path: Path, text: str) -> Plan:
    """The plan of a job's text, with what the shop has learned beside it."""
    return _planned(path, text, read_corrections(path))


@lru_cache(maxsize=REMEMBERED)
def _planned(path: Path, text: str, corrections: Corrections | None) -> Plan:
    job = job_of(path, text.encode())
    return make_plan(job, library_of(job), corrections=corrections)


def plan_of_mould(path: Path, text: str, mould: str) -> Plan:
    """The plan a mould was made by: corrections that rest on its own readings came later."""
    corrections = read_corrections(path)
    own = corrections is not None and mould in corrections.moulds
    return _planned(path, text, None if own else corrections)


def _first(path: Path, text: str, units: Units, edits: Sequence[Edit]) -> Data:
    began, busy = time.perf_counter(), time.process_time()
    text = apply(text, edits)
    try:
        job = job_of(path, text.encode())
        draft = make_draft(job, library_of(job), corrections=read_corrections(path))
    except (JobError, InputError, MaterialError, PlanError) as error:
        return {**refused(_raise)(error), "text": text}
    planned = time.perf_counter()
    drawn = {"section": draw_section(draft), "strips": draw_first_strips(draft)}
    return {
        "text": text, "verdict": asdict(draft.verdict), "drawings": drawn, "axis": axis_of(draft),
        "steps": {key: counts for key, counts in steps_of(draft).items() if key not in WAITING},
        "took": {"plan": planned - began, "draw": time.perf_counter() - planned,
                 "busy": time.process_time() - busy},
    }  # fmt: skip


def _raise(error: Exception) -> Data:
    raise error


def redraw(path: Path, text: str, units: Units, edits: Sequence[Edit]) -> Data:
    """The edited text with what is known at once, or problems: section, strips, a first verdict,
    and the steps that it judges; the others wait for ``complete``."""
    return refused(_first)(path, text, units, edits)


@refused
def complete(path: Path, text: str, units: Units) -> Data:
    """Everything the page shows of a job's text, the release and all findings included."""
    plan = _plan(path, text)
    return {
        "name": plan.job.part.name,
        "verdict": asdict(plan.verdict),
        "drawings": {
            "section": draw_section(plan), "strips": draw_first_strips(plan),
            "life": draw_last_strips(plan), "ladder": draw_ladder(plan),
            "cure": draw_cure(plan), "release": draw_release(plan),
            "flight": draw_flight(plan),
        },
        "axis": axis_of(plan), "steps": steps_of(plan), "findings": findings_of(plan),
        "facts": facts_of(plan, units), "ends": ends_of(plan, units),
        "used": used_of(plan, units),
        "marks": marks_of(plan, units),
    }  # fmt: skip


@refused
def form(path: Path, text: str) -> Data:
    """Steps and inputs of a job's text, whether or not it can be planned."""
    try:
        library = library_of(job_of(path, text.encode()))
    except (JobError, InputError):
        from mandrelwright.job.materials import load_library

        library = load_library()
    try:
        made = form_of(text, library)
    except ValueError as error:
        raise InputError("is not valid TOML", str(error)) from None
    return {"steps": [step._asdict() for step in STEPS], **made}


@refused
def first_job(path: Path, answers: Answers, units: Units) -> Data:
    """The six answers as a job, and all that is told of it."""
    text = new_job(answers)
    return {**complete(path, text, units), "text": text}


@refused
def gate(path: Path, text: str, readings: Sequence[tuple[str, str]], stage: str, at: str,
         mould: str = "") -> Data:  # fmt: skip
    """What readings of this mould or part say; readings are mark and measure as text."""
    from mandrelwright.shop.gate import ask_gate

    taken = [read_mark(f"{mark}={reads}", stage, at or None) for mark, reads in readings]
    if not taken:
        raise InputError("no reading is given", "write what the calipers say at one mark")
    answer = ask_gate(plan_of_mould(path, text, mould), taken)
    return {"answer": {**asdict(answer), "best": asdict(answer.best)}}


@refused
def why(path: Path, text: str, name: str) -> Data:
    """Lines that explain a result back to its inputs and sources."""
    from mandrelwright.why import UnknownNameError, explain, text_lines

    try:
        return {"lines": text_lines(explain(_plan(path, text), name))}
    except UnknownNameError:
        raise InputError(f"{name[:60]} is not the name of a result", "ask for another") from None


@refused
def pieces(path: Path, text: str) -> Data:
    """The mould's pieces as triangles in mm, coarse to a tenth: corners and corner numbers."""
    from mandrelwright.out.segments import make_segments

    plan = _plan(path, text)
    low = {piece.name: piece.low for piece in plan.segments.pieces}
    made = make_segments(plan.segments)
    return {
        "pieces": [
            {"name": name, "low": low.get(name, 0.0) * 1e3,
             "corners": [round(v, 2) for v in mesh.vertices_mm.ravel().tolist()],
             "faces": mesh.triangles.ravel().tolist()}
            for name, mesh in made.items()
        ]
    }  # fmt: skip


@refused
def facts(path: Path, text: str) -> Data:
    """What a mould's entry in the log keeps of the plan it is printed from."""
    from mandrelwright.shop.facts import facts_of

    return facts_of(_plan(path, text))


@refused
def steps(path: Path, text: str, mould: str) -> Data:
    """The build sheet as steps, with the marks to read, of a mould by its name."""
    from mandrelwright.bench.traveller import listed, travel

    plan = plan_of_mould(path, text, mould)
    return {"name": plan.job.part.name, "steps": list(listed(travel(plan)))}


@refused
def learnt(path: Path, text: str) -> Data:
    """What the log beside a job teaches of the next mould: lines, and the chart of the parts."""
    from mandrelwright.shop.chart import draw_parts
    from mandrelwright.shop.mould_plan import history_of
    from mandrelwright.shop.next import propose_next
    from mandrelwright.shop.tell import next_lines

    plan = _planned(path, text, None)
    proposal = propose_next(plan, history_of(plan.job))
    chart = draw_parts(proposal.row, plan.job.part.name) if proposal.row.parts else ""
    return {"lines": list(next_lines(proposal)), "chart": chart}
