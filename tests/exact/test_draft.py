"""A draft tells of the steps that it judges all that the whole plan tells of them."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from mandrelwright.bench.face import steps_of
from mandrelwright.bench.steps import WAITING
from mandrelwright.draft import Draft, make_draft
from mandrelwright.job.read import job_of, library_of
from mandrelwright.job.spec import Job
from mandrelwright.out.strips import draw_first_strips
from mandrelwright.plan import make_plan
from tests import jobs
from tests.property.random_jobs import random_job

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("plover-nose.toml", "dunlin-tube.toml", "plover-transition.toml")
LOW = ('height = "240 mm"', 'height = "60 mm"')


def example(name: str, change: tuple[str, str] = ("", "")) -> Job:
    path = EXAMPLES / name
    return job_of(path, path.read_text("utf-8").replace(*change).encode())


@pytest.mark.parametrize("which", [*NAMES, *range(4)])
def test_steps_judged_at_once_are_judged_alike_and_numbers_are_the_same(which: str | int) -> None:
    job = example(which) if isinstance(which, str) else jobs.job_of(random_job(which))
    library = library_of(job) if isinstance(which, str) else jobs.library()
    draft, plan = make_draft(job, library), make_plan(job, library)
    at_once, whole = steps_of(draft), steps_of(plan)
    for step in at_once.keys() - set(WAITING):
        assert at_once[step] == whole[step], step
    assert set(draft.findings) <= set(plan.findings)
    for field in fields(Draft):
        if field.name in ("findings", "verdict"):
            continue
        assert type(getattr(draft, field.name)) is type(getattr(plan, field.name))
    np.testing.assert_array_equal(draft.fit.file.r, plan.fit.file.r)
    assert draw_first_strips(draft) == draw_first_strips(plan)


def test_a_draft_never_says_that_a_part_can_be_made() -> None:
    job = example(NAMES[0])
    library = library_of(job)
    draft, plan = make_draft(job, library), make_plan(job, library)
    assert (draft.verdict.level, plan.verdict.level) == ("open", "yes")
    assert "Can be made" not in draft.verdict.sentence
    _, said, forecast = draft.verdict.sentence.partition("against it so far. ")
    assert said
    assert plan.verdict.sentence.startswith(f"Can be made. {forecast}")
    assert draft.verdict.comes_off == "not known"


def test_a_stop_of_a_later_step_leaves_a_draft_open() -> None:
    job = example(NAMES[0], LOW)
    library = library_of(job)
    assert make_draft(job, library).verdict.level == "open"
    assert make_plan(job, library).verdict.level == "no"
