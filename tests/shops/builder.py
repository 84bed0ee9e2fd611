"""Who predicts: the program and its log in the hands of a builder. Knows nothing of any truth.

A generator: it yields a step with its prediction and is sent what the calipers then read.
"""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path
from shutil import copy

import numpy as np

from mandrelwright.job.read import library_of, read_job
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.answers import GateAnswer
from mandrelwright.shop.entries import Entry
from mandrelwright.shop.expect import ROUND, expected_readings
from mandrelwright.shop.gate import ask_gate, kept_readings
from mandrelwright.shop.history import MouldRecord
from mandrelwright.shop.log import Log, log_beside, open_log
from mandrelwright.shop.next import Proposal, propose_next
from mandrelwright.shop.predicted import straight
from mandrelwright.shop.questions import SURPRISE
from mandrelwright.shop.recall import history
from tests.shops.model import NOSE, STAGES, assumed_laid, reading_doubt
from tests.shops.steps import Seen, Step

MOULDS, PARTS = 3, 3
MENDINGS, PRINTS = 2, 3  # of one mould before it is laid up as it is

Work = Generator[Step | Proposal, Seen | None, None]


def build(folder: Path) -> Work:
    """Three moulds and nine parts, each predicted from what was read before it."""
    job = Path(copy(NOSE, folder / "nose.toml"))
    stated = read_job(job)
    before = plan = make_plan(stated, library_of(stated))
    with open_log(log_beside(job)) as log:
        prints = 0
        for number in range(1, MOULDS + 1):
            for again in range(PRINTS):
                prints += 1
                name = f"{number}{'abc'[again]}" if again else str(number)
                mould, answer = yield from _mould(log, plan, name, prints)
                if answer.best.action != "reprint" or again == PRINTS - 1:
                    break
                log.add_event(mould, "scrapped", answer.best.text)
                plan = propose_next(before, history(log)).after
            for part in range(1, PARTS + 1):
                yield from _part(log, plan, mould, f"{part} on mould {name}", prints, answer)
            proposal = propose_next(before, history(log))
            yield proposal
            plan = proposal.after


def _mould(
    log: Log, plan: Plan, name: str, turn: int
) -> Generator[Step, Seen, tuple[Entry, GateAnswer]]:
    """One print, prepared, read and mended; what the gate says of it in the end."""
    chain, mean = plan.fit.chain, plan.fit.chain.values(plan.fit.chain.mean[:, None])
    mould = log.add_mould(plan, name)
    file = next(mark.file for mark in _known(log, name).marks if mark.name == "A")
    told = expected_readings(plan, mould, "ready", log.standing())["A"]
    assumed = {
        "print file": file,
        "shrink of the plastic": -file * float(mean["shrink"][0]),
        "offset of the printer": float(mean["offset"][0]),
        "scatter of this print": float(mean["scatter"][0]),
        **{label: float(mean[label][0]) for label in chain.treatments},
    }
    step = Step("print", f"mould {name} ready to wax", turn, file, assumed, told.spread)
    yield from _read(log, mould, "ready", step)
    answer = _ask(log, plan, name)
    for number in range(MENDINGS):
        if not answer.best.amount:
            break
        log.add_event(mould, "mended", answer.best.text, amount=_text(answer.best.amount))
        assumed = {"mould before": answer.estimate, "mending": answer.best.amount}
        spread = float(np.hypot(answer.spread, np.sqrt(_noise(plan, "mended"))))
        words = f"mould {name} mended" + (" again" if number else "")
        step = Step("mend", words, turn, answer.best.amount, assumed, spread)
        yield from _read(log, mould, "ready", step)
        answer = _ask(log, plan, name)
    return mould, answer


def _part(
    log: Log, plan: Plan, mould: Entry, name: str, turn: int, answer: GateAnswer
) -> Generator[Step, Seen, None]:
    """One part laid up, read and tried on its mate."""
    chain, ready = plan.fit.chain, np.array([answer.estimate])
    assumed = {"ready mould": answer.estimate, **assumed_laid(chain, answer.estimate)}
    grown = straight(chain, lambda v: chain.bore(chain.lead, v, ready)).spread
    spread = float(np.sqrt(answer.spread**2 + grown**2 + _noise(plan, "part")))
    part = log.add_part(mould, name.split()[0])
    step = Step("lay up", f"bore of part {name}", turn, 0.0, assumed, spread, answer.as_is)
    seen = yield from _read(log, part, "part", step)
    log.add_event(part, "fits" if seen.fits else "reworked")


def _read(log: Log, about: Entry, stage: str, step: Step) -> Generator[Step, Seen, Seen]:
    """The readings a step brings, into the log; those that are questioned are taken again.

    As when they are typed in: one far from what is expected, or from the other at the same mark.
    """
    first = seen = yield step
    one, other = seen.reads
    off = abs((one + other) / 2.0 - step.mean) / step.spread
    if max(off, abs(one - other) / ROUND) > SURPRISE:
        again = Step("read again", f"{step.of}, read again", step.mould, 0.0, step.assumed,
                     step.spread, step.odds)  # fmt: skip
        seen = yield again
    for angle, read in zip(("0 deg", "90 deg"), seen.reads, strict=True):
        log.add_reading(about, stage, "A", _text(read), angle=angle)
    return Seen(seen.reads, first.fits)


def _ask(log: Log, plan: Plan, name: str) -> GateAnswer:
    """What the gate makes of the mould's newest readings in the log."""
    known = _known(log, name)
    return ask_gate(plan, kept_readings(known, "ready"), known)


def _known(log: Log, name: str) -> MouldRecord:
    """A mould as the log tells it."""
    return next(mould for mould in history(log).moulds if mould.name == name)


def _noise(plan: Plan, stage: str) -> float:
    """Variance of a mean reading by the program's own account (m²)."""
    noise, zero = reading_doubt(plan)
    return float(noise[STAGES.index(stage)]) + zero


def _text(length: float) -> str:
    return f"{length * 1e3:.2f} mm"
