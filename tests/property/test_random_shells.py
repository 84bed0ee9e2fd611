"""Random parts as one shell: every case has its numbers, and none is kinder than the local ones."""

from __future__ import annotations

import math

import numpy as np
import pytest

from mandrelwright.draft import make_draft
from mandrelwright.job.spec import Job
from mandrelwright.stages.flight import fly
from mandrelwright.stages.strength import judge_strength
from mandrelwright.stages.wall import read_constituents
from mandrelwright.stages.whole import as_shell

from ..jobs import library
from .random_jobs import random_job

FLIGHT = {"temperature": "20 degC", "colour": "white", "top_speed": "250 m/s", "altitude": "1000 m"}
PLACES = 120
SEEDS = (2, 9, 46, 175, 316)  # 46: laid ahead of a blunt tip; the last two: of a pointed one


@pytest.mark.parametrize("seed", SEEDS)
def test_every_case_of_a_random_part_is_judged(seed: int) -> None:
    job = Job.model_validate({**random_job(seed), "flight": FLIGHT})
    draft = make_draft(job, library(), PLACES, None)
    flight = fly(job, draft.shape, draft.stack, draft.cure, draft.assembly, library())
    assert flight is not None
    parts = read_constituents(job, draft.stack.layers, library())
    local = judge_strength(job, draft.stack, parts, draft.cure, flight, library())
    assert local is not None
    both, whole = as_shell(draft.shape, draft.stack, parts, draft.cure, flight, local, library())
    assert both is not None
    assert whole is not None
    for case, alone, told in zip(whole.cases, local.failures, both.failures, strict=True):
        assert 0.0 < case.cracks < math.inf
        assert not np.isnan([case.spread, case.buckles, case.buckles_spread]).any()
        assert 0.1 * alone.cracks < case.cracks
        assert told.reserve <= alone.reserve == told.alone
