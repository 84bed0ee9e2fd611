"""What a worker does with an entry before it is kept: ask as `mw measure` asks."""

from __future__ import annotations

from pathlib import Path

from mandrelwright.bench.redraw import plan_of_mould
from mandrelwright.bench.shop import Doubtful
from mandrelwright.job.materials import MaterialError
from mandrelwright.job.problems import JobError
from mandrelwright.job.values import InputError
from mandrelwright.shop.measuring import question_of
from mandrelwright.shop.slips import Question
from mandrelwright.stages.layers import PlanError


def question(path: Path, doubtful: Doubtful) -> Question | None:
    """What to ask about an entry by the plan its mould was begun with; None where nothing is odd.

    A job that can be planned no more asks nothing: what was read is worth more than the question.
    """
    try:
        plan = plan_of_mould(path, doubtful.job_text, doubtful.mould)
    except (JobError, InputError, MaterialError, PlanError):
        return None
    return question_of(plan, doubtful.entry, doubtful.about, doubtful.rows)
