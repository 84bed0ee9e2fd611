"""The demo shop: three moulds, nine parts, each predicted before it is made; its page.

Run from the top folder: ``python -m tests.shops.programme`` (``scripts/demo-shop`` does it). Who
predicts (``builder``) and what really is (``sealed``) never meet: here a prediction is taken from
the one, written behind its hash, and only then is the other asked; readings alone go back.
"""

from __future__ import annotations

import sys
import tempfile
from itertools import count
from pathlib import Path
from typing import TextIO

from mandrelwright.shop.next import Proposal
from tests.shops.builder import Work, build
from tests.shops.model import nose_model
from tests.shops.page import DOCS, Programme, chart, page
from tests.shops.sealed import SealedTruth
from tests.shops.steps import Ledger, Seen, Told


def run(seed: int, out: TextIO) -> Programme:
    """The whole programme, told as it goes."""
    ledger = Ledger(out)
    truth = SealedTruth(nose_model(), ledger, seed)
    with tempfile.TemporaryDirectory(prefix="demo-shop-") as folder:
        return play(build(Path(folder)), truth, ledger)


def play(work: Work, truth: SealedTruth, ledger: Ledger) -> Programme:
    """Take predictions from ``work``, write each, then ask the truth; send back what was read."""
    done = Programme([], [])
    seen: Seen | None = None
    while True:
        try:
            step = work.send(seen)
        except StopIteration:
            return done
        seen = None
        if isinstance(step, Proposal):
            done.proposals.append(step)
            continue
        ledger.say(f"{step.of}: {step.do}")
        digest = ledger.fix(step.text)
        told = Told(step, digest, truth.came(step))
        done.told.append(told)
        where = "inside" if told.hit else "OUTSIDE"
        ledger.say(f"  came       {told.read * 1e3:.3f} mm, {told.off:+.1f} spreads, {where} 95 %")
        seen = told.came.seen


def first_with_a_miss(out: TextIO) -> tuple[int, Programme]:
    """The first seed, counted from 1, whose programme holds a miss, and that programme."""
    for seed in count(1):
        out.write(f"\nThe shop of seed {seed}\n\n")
        done = run(seed, out)
        if not all(each.hit for each in done.told):
            return seed, done
    raise AssertionError("count ends nowhere")


if __name__ == "__main__":
    if sys.argv[1:] and sys.argv[1].isdecimal():
        run(int(sys.argv[1]), sys.stdout)
    else:
        seed, done = first_with_a_miss(sys.stdout)
        if "--write" in sys.argv:
            (DOCS / "demo-shop.md").write_text(page(seed, done), encoding="utf-8")
            (DOCS / "demo-shop.svg").write_text(chart(done), encoding="utf-8")
