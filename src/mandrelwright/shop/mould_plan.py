"""The plan that a question about one mould of the log is asked of."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from mandrelwright.job.corrections import read_corrections
from mandrelwright.job.read import library_of, read_job
from mandrelwright.job.spec import Job
from mandrelwright.job.values import InputError
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.history import History, MouldRecord
from mandrelwright.shop.learning import corrections_of, learn_from
from mandrelwright.shop.log import log_beside, open_log
from mandrelwright.shop.recall import history


def history_of(job: Job, where: str | Path | None = None) -> History:
    """What the log beside a job (or another) holds of it; raises InputError where there is none."""
    at = where or log_beside(job.path)
    if where is None and not Path(at).exists():
        raise InputError(f"there is no log {at}", "keep readings first: mw measure")
    with open_log(at) as shop:
        return history(shop, job.part.name)


def plan_of_mould(
    path: Path, name: str, where: str | Path | None = None
) -> tuple[Plan, MouldRecord]:
    """The plan for one mould of the log, which has not learned from that mould, and the mould.

    Corrections that rest on it are learned anew without it, so that none of its readings counts
    twice. Raises InputError when the log does not know it.
    """
    job = read_job(path)
    known = history_of(job, where)
    mould = known.mould(name)
    if mould is None:
        names = ", ".join(item.name for item in known.moulds) or "none"
        raise InputError(f"the log knows no mould {name}", f"its moulds are: {names}")
    corrections = read_corrections(job.path)
    library = library_of(job)
    if corrections and name in corrections.moulds:
        before = make_plan(job, library)
        others = tuple(item for item in known.moulds if item is not mould)
        rest = replace(known, moulds=others)
        corrections = corrections_of(learn_from(before, rest), before, rest)
    return make_plan(job, library, corrections=corrections), mould
