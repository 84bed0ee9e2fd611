"""The demo shop: its page is what the script writes, and no truth is drawn before its hash is out.

The order is recorded, not believed: a stream that notes what is written and flushed, a truth that
notes what it draws.
"""

from __future__ import annotations

import ast
import hashlib
import re
from functools import cache
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from mandrelwright.shop.expect import expected_readings
from mandrelwright.shop.log import open_log
from tests.shops import programme
from tests.shops.builder import build
from tests.shops.model import assumed_laid, nose_model
from tests.shops.page import DOCS, Programme, chart, page
from tests.shops.sealed import NotPredictedError, SealedTruth
from tests.shops.steps import Ledger, Step

Events = list[tuple[str, str]]
LATER = 6  # predictions after which the truth is made another


class Recorder(StringIO):
    """A stream that notes every write and flush."""

    def __init__(self, events: Events) -> None:
        super().__init__()
        self.events = events

    def write(self, text: str) -> int:
        self.events.append(("write", text))
        return super().write(text)

    def flush(self) -> None:
        self.events.append(("flush", ""))
        super().flush()


class WatchedTruth(SealedTruth):
    """A truth that notes every stream it opens, and may be another from some step on."""

    events: Events
    other: int | None = None

    def _stream(self, kind: int, number: int) -> np.random.Generator:
        self.events.append(("draw", str(number) if kind == 0 else "lasting"))
        if self.other is not None and kind == 0 and number > LATER:
            return np.random.default_rng([self.other, kind, number])
        return super()._stream(kind, number)


@cache
def chosen() -> tuple[int, Programme]:
    return programme.first_with_a_miss(StringIO())


@cache
def played(other: int | None = None) -> tuple[Programme, Events]:
    """The programme of seed 1 as recorded; ``other``: the seed of its later truth."""
    events: Events = []
    ledger = Ledger(Recorder(events))
    truth = WatchedTruth(nose_model(), ledger, 1)
    truth.events, truth.other = events, other
    with TemporaryDirectory() as folder:
        return programme.play(build(Path(folder)), truth, ledger), events


def test_page_and_drawing_are_what_the_script_writes() -> None:
    seed, done = chosen()
    text = (DOCS / "demo-shop.md").read_text("utf-8")
    assert text == page(seed, done), "run scripts/demo-shop --write"
    assert (DOCS / "demo-shop.svg").read_text("utf-8") == chart(done)


def test_the_pages_seed_is_the_first_whose_programme_holds_a_miss() -> None:
    text = (DOCS / "demo-shop.md").read_text("utf-8")
    (seed,) = map(int, re.findall(r"with the seed (\d+);", text))
    for tried in range(1, seed):
        assert all(each.hit for each in programme.run(tried, StringIO()).told), tried
    assert seed == chosen()[0]
    missed = [each.step.of for each in chosen()[1].told if not each.hit]
    assert missed
    assert text.count("| **no** |") == len(missed)
    assert all(f"**{words[0].upper()}{words[1:]}**: " in text for words in missed)


def test_every_hash_on_the_page_is_of_the_line_below_it() -> None:
    text = (DOCS / "demo-shop.md").read_text("utf-8")
    fixed = re.findall(r"^([0-9a-f]{64})\n(\{.+\})$", text, re.MULTILINE)
    assert len(fixed) == text.count("| `")
    assert sum("bore of part" in told and "again" not in told for _, told in fixed) == 9
    for digest, told in fixed:
        assert hashlib.sha256(told.encode()).hexdigest() == digest
        assert f"`{digest[:10]}`" in text


def test_nothing_is_drawn_before_the_hash_is_out() -> None:
    done, events = played()
    out, steps = "", 0
    for before, (what, told) in zip([("", ""), *events], events, strict=False):
        out += told if what == "write" else ""
        if what != "draw":
            continue
        assert before[0] in ("flush", "draw")
        steps += told != "lasting"
        assert told in ("lasting", str(steps))
        assert out.count("  predicted  ") == steps  # its own hash, and none later
        assert out.count("  came  ") == steps - 1
        assert done.told[steps - 1].digest in out
    assert steps == len(done.told)


def test_a_truth_asked_too_early_or_twice_refuses() -> None:
    ledger = Ledger(StringIO())
    truth = SealedTruth(nose_model(), ledger, 1)
    step = Step("print", "mould 1 ready to wax", 1, 0.1, {"print file": 0.1}, 1e-4)
    with pytest.raises(NotPredictedError):
        truth.came(step)
    ledger.fix(step.text)
    truth.came(step)
    with pytest.raises(NotPredictedError):
        truth.came(step)


def test_a_later_truth_moves_no_earlier_prediction() -> None:
    one, other = played()[0].told, played(77)[0].told
    texts = [[each.step.text for each in told] for told in (one, other)]
    assert texts[0][: LATER + 1] == texts[1][: LATER + 1]
    assert texts[0][LATER + 1 :] != texts[1][LATER + 1 :]
    assert one[LATER].read != other[LATER].read


def test_who_predicts_cannot_reach_the_truth() -> None:
    """Of tests.shops the builder sees its model and the steps, no world, no sealed truth."""
    folder = Path(programme.__file__).parent
    reached, waiting = set[str](), ["builder"]
    while waiting:
        module = waiting.pop()
        reached.add(module)
        for node in ast.walk(ast.parse((folder / f"{module}.py").read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("tests"):
                assert node.module is not None
                name = node.module.removeprefix("tests.shops.")
                waiting += [name] if name not in reached else []
    assert reached == {"builder", "model", "steps"}


def test_causes_add_up_to_prediction_and_reading() -> None:
    _, done = chosen()
    for told in done.told:
        differences = sum(really - assumed for _, assumed, really in told.causes())
        assert differences == pytest.approx(told.read - told.step.mean, abs=1e-12)
        assert sum(told.came.really.values()) == pytest.approx(told.read, abs=1e-12)


def test_what_is_assumed_is_what_the_program_expects(tmp_path: Path) -> None:
    first = next(build(tmp_path))
    assert isinstance(first, Step)
    model = nose_model()
    chain, plan = model.plan.fit.chain, model.plan
    with open_log(tmp_path / "other.sqlite") as log:
        told = expected_readings(plan, log.add_mould(plan, "1"), "ready", log.standing())["A"]
    assert first.mean == pytest.approx(told.value, abs=1e-9)
    assert first.spread == pytest.approx(told.spread, rel=1e-6)
    mean, ready = chain.values(chain.mean[:, None]), 99.3e-3
    grown = float(chain.bore(chain.lead, mean, np.array([ready]))[0]) - ready
    assert sum(assumed_laid(chain, ready).values()) == pytest.approx(grown, abs=1e-12)
