"""Three rules for the next mould, run over the same shops with the same luck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from mandrelwright.stages import aim
from tests.shops.model import (
    DOUBT_STEP,
    RING,
    SIGMA_STEP,
    STAGES,
    Belief,
    Model,
    aimed,
    costs,
    learned,
    outcome,
    prior,
)
from tests.shops.truth import Truth
from tests.shops.world import mended

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Rule = Literal["none", "last", "ours"]

MENDINGS = 2  # of one mould before it is laid up as it is or printed again
QUESTIONED = 4.0  # standard uncertainties beyond which a reading is taken again
PRINTED, READY, MENDED, PART = range(len(STAGES))


@dataclass
class Bench:
    """What is going on in every shop under one rule."""

    model: Model
    truth: Truth
    gaps: Array
    taken: Flags
    mended: Flags
    ring: Array | None
    belief: Belief
    shift: Array  # of the next file, by the last part's full error
    feel: Array  # of the play expected over a ready mould, by the last part's full error


def moulds_until_fit(
    model: Model, truth: Truth, rule: Rule, rings: bool, gate: bool, most: int
) -> NDArray[np.int64]:
    """Moulds printed until the first part that fits; most + 1 where none did."""
    shops = len(truth.offset)
    bench = _open(model, truth, rings, most)
    count = np.full(shops, most + 1)
    for mould in range(most):
        open_ones = count > most
        if not open_ones.any():
            break
        play, laid = _make(bench, rule, gate, mould)
        fits = laid & (model.window[0] <= play) & (play <= model.window[1])
        count[open_ones & fits] = mould + 1
        if rule == "ours":
            _learn(bench, mould + 1, count > most)
    return count


def _open(model: Model, truth: Truth, rings: bool, most: int) -> Bench:
    """Before the first mould; with a ring printed and read where ``rings``."""
    shops = len(truth.offset)
    shape = (shops, most, len(STAGES))
    belief, gap = prior(model, shops), None
    if rings:
        row = truth.shrink.shape[1] - 1
        size = truth.printed(row, np.full(shops, RING))
        gap = truth.read(0, PRINTED, size) - RING * (1.0 - model.mean[model.index["shrink"]])
        gap = gap - model.mean[model.index["offset"]]
        none = np.zeros((shops, 0, len(STAGES)))
        belief = learned(model, none, none.astype(bool), none[..., 0].astype(bool), gap)
    return Bench(
        model, truth, np.zeros(shape), np.zeros(shape, bool), np.zeros(shape[:2], bool), gap,
        belief, np.zeros(shops), np.zeros(shops),
    )  # fmt: skip


def _learn(bench: Bench, moulds: int, still: Flags) -> None:
    """Every shop still at work learns from all its readings."""
    if not still.any():
        return
    ring = None if bench.ring is None else bench.ring[still]
    part = (slice(None), slice(0, moulds))
    told = learned(
        bench.model,
        bench.gaps[still][part],
        bench.taken[still][part],
        bench.mended[still][part],
        ring,
    )
    bench.belief.mean[still] = told.mean
    bench.belief.lasting[still] = told.lasting
    bench.belief.factors[still] = told.factors


def _make(bench: Bench, rule: Rule, gate: bool, mould: int) -> tuple[Array, Flags]:
    """One mould in every shop: its part's play and whether one was laid up."""
    model, truth = bench.model, bench.truth
    apart = bench.belief.mean - model.mean
    V = bench.belief.covariance(model)
    beyond = model.feels - model.grows * model.held  # slopes of play over a known ready mould
    sigma = np.sqrt(np.einsum("i,nij,j->n", beyond, V, beyond) + 0.5 * model.caliper**2)
    doubt = np.sqrt(np.einsum("i,nij,j->n", model.held, V, model.held))
    over = bench.feel + apart @ beyond
    wanted = _wanted(model, sigma, doubt, gate)
    dfile = 1.0 - model.mean[model.index["shrink"]]
    expected = model.at["play"] + apart @ model.feels + bench.feel
    file = model.file + (wanted - expected) / (model.grows * dfile) + bench.shift
    moved = dfile * (file - model.file)
    printed = truth.printed(mould, file)
    ready = printed + truth.treated[:, mould]
    at_ready = model.at["ready"] + moved
    laid = np.ones(len(file), bool)
    final = ready
    if gate:
        _keep(
            bench, mould, PRINTED, truth.read(mould, PRINTED, printed), model.at["printed"] + moved
        )
        spread = np.hypot(doubt, model.caliper)
        said = _again(truth, mould, READY, ready, at_ready + apart @ model.held, spread)
        _keep(bench, mould, READY, said, at_ready)
        final, laid, changed = _mend(bench, mould, ready, said, over, sigma)
        if changed.any():
            told = truth.read(mould, MENDED, final)
            _keep(bench, mould, MENDED, told, at_ready, changed & laid)
            bench.mended[:, mould] = changed
    bore = final + truth.laid[:, mould]
    said = truth.read(mould, PART, bore)
    _keep(bench, mould, PART, said, model.at["bore"] + model.grows * moved, laid)
    if rule == "last":
        _chase(bench, mould, said, laid, gate, wanted, over)
    return truth.play(mould, bore), laid


def _wanted(model: Model, sigma: Array, doubt: Array, gate: bool) -> Array:
    """Expected play to print for: of least rework when moulds are read, else the best itself."""
    out = np.empty(len(sigma))
    steps = np.round(sigma / SIGMA_STEP).astype(int)
    wide = np.round(doubt / DOUBT_STEP).astype(int)
    for step, broad in {*zip(steps.tolist(), wide.tolist(), strict=True)}:
        own = (steps == step) & (wide == broad)
        best = outcome(model.window, step).best
        out[own] = aimed(model.window, step, broad, model.caliper) if gate else best
    return out


def _keep(
    bench: Bench, mould: int, stage: int, said: Array, at: Array, there: Flags | None = None
) -> None:
    """A reading goes into the log as its gap from the prediction; a slip of 5 % does not count."""
    gap = said - at
    there = np.ones(len(gap), bool) if there is None else there
    bench.gaps[:, mould, stage] = gap
    bench.taken[:, mould, stage] = there & (np.abs(gap) < 0.05 * RING)


def _again(
    truth: Truth, mould: int, stage: int, size: Array, expected: Array, spread: Array
) -> Array:
    """The reading at the gate; one that is questioned is taken again, without its slip."""
    said = truth.read(mould, stage, size)
    odd = np.abs(said - expected) > QUESTIONED * spread
    return np.where(odd, said - truth.slip[:, mould, stage], said)


def _mend(
    bench: Bench, mould: int, ready: Array, said: Array, over: Array, sigma: Array
) -> tuple[Array, Flags, Flags]:
    """What the gate says is done: sanded, wrapped, laid up or printed again."""
    model, truth = bench.model, bench.truth
    steps = np.round(sigma / SIGMA_STEP).astype(int)
    laid, changed = np.ones(len(ready), bool), np.zeros(len(ready), bool)
    for _ in range(MENDINGS):
        feels = model.at["play"] + model.grows * (said - model.at["ready"]) + over
        for step in set(steps.tolist()):
            own = np.flatnonzero(steps == step)
            out = outcome(model.window, step)
            choices = aim.options(feels[own], out, costs())
            pick = aim.choose(feels[own], out, choices)
            for number, choice in enumerate(choices):
                at = own[pick == number]
                amount = choice.amount[pick == number]
                if choice.action == "sand":
                    ready[at] += mended(-amount, costs().wrap, truth.hand[at, mould])
                    changed[at] = True
                elif choice.action == "film":
                    change = amount * costs().wrap
                    ready[at] += mended(change, costs().wrap, truth.hand[at, mould])
                    changed[at] = True
                elif choice.action == "reprint":
                    laid[at] = False
        said = np.where(changed, truth.read(mould, MENDED, ready), said)
    return ready, laid, changed


def _chase(
    bench: Bench, mould: int, said: Array, laid: Flags, gate: bool, wanted: Array, over: Array
) -> None:
    """The last part's full error corrects the next mould."""
    model = bench.model
    play = said - model.mean[model.index[model.mate]] - model.mean[model.index[model.form]]
    if not gate:
        bench.shift = bench.shift + np.where(laid, wanted - play, 0.0)
        return
    ready = bench.gaps[:, mould, READY]
    bench.shift = -ready / (1.0 - model.mean[model.index["shrink"]])
    stage = np.where(bench.taken[:, mould, MENDED], MENDED, READY)
    at = np.take_along_axis(bench.gaps[:, mould], stage[:, None], axis=1)[:, 0]
    gap = bench.gaps[:, mould, PART] - model.grows * at
    bench.feel = np.where(laid & (np.abs(gap) < 1e-3), gap, bench.feel)


def intervals(
    model: Model, truth: Truth, moulds: int, rings: bool = False
) -> dict[str, tuple[float, float]]:
    """Share of shops whose next ready mould, bore and play lie inside their 95 % interval.

    Every shop prints ``moulds`` from the same file and reads all of it; returns by size the
    share and the mean half width (m). "bore, mould read": the bore once its own
    ready mould is read.
    """
    bench = _open(model, truth, rings, max(moulds, 1))
    file = np.full(len(truth.offset), model.file)
    for mould in range(moulds):
        printed = truth.printed(mould, file)
        ready = printed + truth.treated[:, mould]
        bore = ready + truth.laid[:, mould]
        pairs = ((PRINTED, printed, "printed"), (READY, ready, "ready"), (PART, bore, "bore"))
        for stage, size, name in pairs:
            _keep(
                bench,
                mould,
                stage,
                truth.read(mould, stage, size),
                np.full(len(file), model.at[name]),
            )
    if moulds:
        _learn(bench, moulds, np.ones(len(file), bool))
    apart, V = bench.belief.mean - model.mean, bench.belief.covariance(model)
    ready = truth.printed(moulds, file) + truth.treated[:, moulds]
    bore = ready + truth.laid[:, moulds]
    really = {"ready": ready, "bore": bore, "play": truth.play(moulds, bore)}
    slopes = {"ready": model.held, "bore": model.laid, "play": model.feels}
    out = {}
    for name, row in slopes.items():
        half = 1.96 * np.sqrt(np.einsum("i,nij,j->n", row, V, row))
        inside = np.abs(really[name] - model.at[name] - apart @ row) <= half
        out[name] = (float(inside.mean()), float(half.mean()))
    apart, V = _gated(model, truth, moulds, ready, apart, V)
    half = 1.96 * np.sqrt(np.einsum("i,nij,j->n", model.laid, V, model.laid))
    inside = np.abs(bore - model.at["bore"] - apart @ model.laid) <= half
    out["bore, mould read"] = (float(inside.mean()), float(half.mean()))
    return out


def _gated(
    model: Model, truth: Truth, mould: int, ready: Array, apart: Array, V: Array
) -> tuple[Array, Array]:
    """What is believed once the ready mould is read: m' = m + K (y − h m), V' = V − K h V."""
    h, expected = model.held, model.at["ready"] + apart @ model.held
    seen = V @ h
    variance = seen @ h + model.noise[READY] + model.zero
    said = _again(truth, mould, READY, ready, expected, np.sqrt(variance))
    gain = seen / variance[:, None]
    after = apart + gain * (said - expected)[:, None]
    return after, V - gain[:, :, None] * seen[:, None, :]
