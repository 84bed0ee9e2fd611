"""Links that readings of laminate, length, bore and finish teach: closed forms and brute force."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from mandrelwright import plan_job
from mandrelwright.job.records import Reading
from mandrelwright.physics.uncertainty import condition
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.history import History, MarkRecord, MouldRecord, PartRecord, RingRecord
from mandrelwright.shop.learning import LINKS, corrections_of, learn_from, shares_of
from mandrelwright.shop.observations import Observation, observe

NOSE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"
CALIPER = 0.02e-3


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_job(NOSE)


def reading(stage: str, size_mm: float, mark: str = "A", **more: object) -> Reading:
    return Reading(stage, mark, size_mm * 1e-3, 0.0, **more)  # type: ignore[arg-type]


def mould(plan: Plan, *readings: Reading, parts: tuple[PartRecord, ...] = (), name: str = "M1"):
    """A mould printed from the plan's file."""
    fit = plan.fit
    marks = tuple(
        MarkRecord(
            mark.name,
            2.0 * float(np.interp(mark.x, fit.ready.x, fit.file.r)),
            mark.slope,
            mark.from_base,
            fit.sizes.base - float(np.interp(mark.x, fit.ready.x, fit.file.x)),
        )
        for mark in plan.mould.marks
    )
    return MouldRecord(name, plan.job.mould.plastic, "", "", marks, readings=readings, parts=parts)


def only(plan: Plan, history: History) -> Observation:
    (seen,) = observe(plan, history).observations
    return seen


def informs(plan: Plan, seen: Observation) -> set[str]:
    """Inputs whose doubt moves the reading by a micrometre or more."""
    chain = plan.fit.chain
    pull = np.abs(seen.slopes) * np.sqrt(np.diag(chain.covariance))
    return {item.name for item, size in zip(chain.inputs, pull, strict=True) if size > 1e-6}


# --- the shrink upwards -----------------------------------------------------------------------


def test_a_bar_printed_upright_teaches_the_shrink_upwards_as_bayes_says(plan: Plan) -> None:
    """One bar of L reads L(1 − s): s' = (m/u² + s₁/w²)/(1/u² + 1/w²), w its doubt over L."""
    bar = RingRecord("bar", "ASA", "", 0.2, (reading("ring", 198.8, of="length"),))
    seen = only(plan, History((), (bar,)))
    assert informs(plan, seen) == {"shrink up"}
    lesson = learn_from(plan, History((), (bar,)))
    chain, row = plan.fit.chain, plan.fit.chain.index("shrink up")
    prior, u = chain.mean[row], np.sqrt(chain.covariance[row, row])
    w = np.sqrt(seen.noise + seen.zero) / 0.2
    told = (prior / u**2 + 0.006 / w**2) / (1.0 / u**2 + 1.0 / w**2)
    assert lesson.mean[row] == pytest.approx(told, rel=1e-9)
    left = np.sqrt(lesson.lasting[row, row])
    assert left == pytest.approx((1.0 / u**2 + 1.0 / w**2) ** -0.5, rel=1e-9)
    others = np.arange(len(chain.mean)) != row
    assert np.allclose(lesson.mean[others], chain.mean[others], rtol=1e-12)


def test_a_length_on_the_mould_stretches_the_next_print_file(plan: Plan) -> None:
    """Base to mark C came 1 mm short of the file: the next file is longer, the mould is not."""
    mark = plan.mould.marks[2]
    made = mould(plan, reading("printed", 1e3 * mark.from_base - 0.6, "C", of="length"))
    history = History((made,))
    told = corrections_of(learn_from(plan, history), plan, history)
    assert [item.name for item in told.inputs] == ["shrink up"]
    after = make_plan(plan.job, plan.library, corrections=told)
    gain = (1.0 - plan.fit.sizes.shrink_up) / (1.0 - after.fit.sizes.shrink_up)
    assert gain > 1.0005
    base = plan.fit.sizes.base
    assert base - after.fit.file.x[0] == pytest.approx(gain * (base - plan.fit.file.x[0]), rel=1e-4)
    assert after.fit.ready.x == pytest.approx(plan.fit.ready.x, abs=2e-5)


def test_a_length_at_a_mark_carries_how_well_the_mark_is_found(plan: Plan) -> None:
    marked = mould(plan, reading("printed", 46.9, "A", of="length"))
    bar = RingRecord("bar", "ASA", "", 0.047, (reading("ring", 46.9, of="length"),))
    extra = only(plan, History((marked,))).noise - only(plan, History((), (bar,))).noise
    assert extra == pytest.approx(0.5e-3**2, rel=0.01)


# --- the laminate on its mould ----------------------------------------------------------------


def test_the_laminate_on_its_mould_tells_wall_and_film_and_no_springback(plan: Plan) -> None:
    part = PartRecord("P1", readings=(reading("set", 102.0, "B"),))
    told = informs(plan, only(plan, History((mould(plan, parts=(part,)),))))
    assert {"fibre fraction", "braid angle", "tow", "release film", "wax", "shrink"} <= told
    assert not told & {"springback", "cure shrinkage", "share kept", "coat of paint"}


def test_a_laminate_read_as_one_of_the_mould_counts_too(plan: Plan) -> None:
    seen = only(plan, History((mould(plan, reading("set", 102.0, "B")),)))
    assert seen.part == "M1/laid"


def test_bores_alone_cannot_tell_springback_from_heat_and_film(plan: Plan) -> None:
    """Thirty bores leave most of its doubt; the outside on the mould and off it takes it away."""
    row = plan.fit.chain.index("springback")

    def left(*readings: Reading) -> float:
        parts = tuple(PartRecord(f"P{n}", readings=readings) for n in range(30))
        history = History((mould(plan, reading("ready", 99.17), parts=parts),))
        return float(np.sqrt(learn_from(plan, history).lasting[row, row]))

    bore = reading("part", 99.15)
    outside = (reading("set", 102.1, "B"), reading("part", 102.1, "B"))
    assert left(bore) > 0.75 * left()
    assert left(bore, *outside) < 0.5 * left()


def test_a_laminate_that_may_have_let_go_is_trusted_less(plan: Plan) -> None:
    """Where the free part is larger than the mould holds it: gap²/3 on top, else nothing."""
    chain = plan.fit.chain
    warm = make_warm(plan, 40.0)
    for one, more in ((plan, 0.0), (warm, None)):
        part = PartRecord("P1", readings=(reading("set", 102.0, "B"),))
        on_part = only(one, History((mould(one, parts=(part,)),)))
        on_mould = only(one, History((mould(one, reading("ready", 99.2, "B")),)))
        extra = on_part.noise - on_mould.noise
        v = one.fit.chain.values(one.fit.chain.mean[:, None])
        station = one.fit.chain.stations[1]
        held = np.array([0.0992])
        gap = float((one.fit.chain.bore(station, v, held) - held - coats(one))[0])
        expected = max(gap, 0.0) ** 2 / 3.0
        warmth = (102.0**2 - 99.0**2) * 1e-6 * (2.0 * 95e-6) ** 2
        assert extra == pytest.approx(expected + warmth, rel=0.08)
        assert more is None or gap < 0.05e-3
    assert chain is plan.fit.chain


def coats(plan: Plan) -> float:
    chain = plan.fit.chain
    return float(sum(chain.mean[chain.index(name)] for name in chain.films))


def make_warm(plan: Plan, celsius: float) -> Plan:
    """The same nose set in a warm box: the mould stands larger when it fixes the size."""
    at = plan.job.stated.set_temperature
    assert at is not None
    stated = plan.job.stated.model_copy(
        update={"set_temperature": at._replace(value=273.15 + celsius)}
    )
    return make_plan(plan.job.model_copy(update={"stated": stated}), plan.library)


# --- the finish -------------------------------------------------------------------------------


def test_a_finished_outside_teaches_the_coats_and_narrows_the_flush_fit(plan: Plan) -> None:
    twice = [
        PartRecord(
            f"P{n}", readings=(reading("part", 102.10, "B"), reading("finished", 102.42, "B"))
        )
        for n in (1, 2, 3)
    ]
    history = History((mould(plan, parts=tuple(twice)),))
    told = corrections_of(learn_from(plan, history), plan, history)
    names = {item.name: item for item in told.inputs}
    for name in ("coat of primer", "coat of paint"):
        assert 0.065e-3 < names[name].mean < 0.08e-3  # 0.16 a side was found, 0.12 stated
        assert names[name].readings == 3
    after = make_plan(plan.job, plan.library, corrections=told).fit.results[1]
    assert after.spread < plan.fit.results[1].spread


def test_a_finished_bore_is_named_as_unused(plan: Plan) -> None:
    part = PartRecord("P1", readings=(reading("finished", 99.1, "A"),))
    observed = observe(plan, History((mould(plan, parts=(part,)),)))
    assert observed.observations == ()
    assert observed.unused == ("part P1, finished, mark A: no link of the chain is read there",)


# --- the whole posterior ----------------------------------------------------------------------


def everything(plan: Plan) -> History:
    """Two moulds and three parts read at every stage there is."""

    def part(name: str, bore: float, outside: float) -> PartRecord:
        return PartRecord(
            name,
            readings=(
                reading("set", outside + 0.05, "B"),
                reading("part", bore),
                reading("part", outside, "B"),
                reading("part", 1.47, "B", of="wall"),
                reading("finished", outside + 0.26, "B"),
            ),
        )

    first = mould(
        plan,
        reading("printed", 99.30),
        reading("ready", 99.17),
        reading("filmed", 99.23),
        reading("printed", 46.9, "A", of="length"),
        parts=(part("P1", 99.10, 102.02), part("P2", 99.14, 102.10)),
    )
    second = mould(
        plan,
        reading("printed", 99.38),
        reading("ready", 99.24),
        parts=(part("P3", 99.20, 102.12),),
        name="M2",
    )
    return History((first, second))


def brute(plan: Plan, history: History, draws: int) -> Iterator[np.ndarray]:
    """Mean and covariance of the inputs by drawing every unknown spread from its prior."""
    chain, seen = plan.fit.chain, observe(plan, history).observations
    shares, variance = shares_of(chain, plan.library), np.diag(chain.covariance)
    C, y = np.array([o.slopes for o in seen]), np.array([o.gap for o in seen])
    root = np.sqrt(shares.lasting)
    P = chain.covariance * root[:, None] * root
    R = np.diag([o.noise + o.zero for o in seen])
    kernels = []
    for link in range(len(LINKS)):
        K = np.zeros((len(seen), len(seen)))
        for i, one in enumerate(seen):
            for j, other in enumerate(seen):
                for k in np.flatnonzero(np.array(shares.link) == link):
                    pull = one.slopes[k] * other.slopes[k] * variance[k]
                    K[i, j] += pull * shares.mould[k] * (one.mould == other.mould)
                    same = bool(one.part) and one.part == other.part
                    K[i, j] += pull * shares.part[k] * same
        kernels.append(K)
    for i, one in enumerate(seen):
        for j, other in enumerate(seen):
            if i != j and one.tool == other.tool:
                R[i, j] = np.sqrt(one.zero * other.zero)
    nu = plan.library.practice["learning"]["spread_degrees"].value
    factors = (nu - 2.0) / np.random.default_rng(3).chisquare(nu, (draws, len(LINKS)))
    total, mean, square = 0.0, np.zeros(len(P)), np.zeros((len(P), len(P)))
    for v in factors:
        S = R + sum(f * K for f, K in zip(v, kernels, strict=True))
        m, V = condition(np.zeros(len(P)), P, C, y, S)
        whole = S + C @ P @ C.T
        weight = np.exp(-0.5 * (np.linalg.slogdet(whole)[1] + y @ np.linalg.solve(whole, y)) - 150)
        total, mean = total + weight, mean + weight * m
        square += weight * (V + np.outer(m, m))
    mean /= total
    yield chain.mean + mean
    yield square / total - np.outer(mean, mean)


def test_the_posterior_of_all_links_is_that_of_brute_force_within_a_hundredth(plan: Plan) -> None:
    history = everything(plan)
    lesson = learn_from(plan, history)
    assert lesson.odd == ()
    mean, covariance = brute(plan, history, 12_000)
    before, after = (np.sqrt(np.diag(V)) for V in (plan.fit.chain.covariance, covariance))
    assert np.all(np.abs(lesson.mean - mean) < 0.01 * before)
    moved = before > 0.0
    own = np.sqrt(np.diag(lesson.lasting))
    assert own[moved] == pytest.approx(after[moved], rel=0.01)
    for name in ("springback", "shrink up", "coat of paint", "fibre fraction"):
        row = plan.fit.chain.index(name)
        assert after[row] < 0.99 * np.sqrt(lesson_share(plan, row)) * before[row], name


def lesson_share(plan: Plan, row: int) -> float:
    return float(shares_of(plan.fit.chain, plan.library).lasting[row])
