"""The model that the rules of ``shops`` share: the nose example's chain made straight."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.read import library_of, read_job
from mandrelwright.physics import uncertainty
from mandrelwright.physics.hierarchy import Factors, factor_grid, learn
from mandrelwright.plan import Plan, make_plan
from mandrelwright.shop.learning import FREE, LINKS, shares_of
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain, Values

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

NOSE = Path(__file__).resolve().parents[2] / "examples" / "plover-nose.toml"
RING = 0.099  # m, diameter of the ring and of the fit
STAGES = ("printed", "ready", "mended", "part")
SIGMA_STEP, DOUBT_STEP = 2e-6, 10e-6  # m, to which spreads are rounded before a table is made
MOST_BYTES = 150e6  # of the matrices held at once


@dataclass(frozen=True)
class Model:
    """Inputs with their parts that last and differ, slopes of what is read, noise of readings.

    at: predicted sizes at the file ``file``, m. held, laid, feels: slopes of ready mould, bore
    and play by input; prints: of the printed mould. link: rows of LINKS by input.
    """

    plan: Plan
    file: float
    mean: Array
    covariance: Array
    lasting: Array
    mould: Array
    part: Array
    link: NDArray[np.intp]
    treatments: list[int]
    index: Mapping[str, int]
    at: Mapping[str, float]
    prints: Array
    held: Array
    laid: Array
    feels: Array
    grows: float
    noise: Array
    zero: float
    caliper: float
    degrees: float
    window: tuple[float, float]

    @property
    def mate(self) -> str:
        """Name of the leading mate's input."""
        return f"mate {self.plan.fit.lead.name}"

    @property
    def form(self) -> str:
        """Name of the leading form's input."""
        return f"form {self.plan.fit.lead.name}"

    @property
    def plastic(self) -> float:
        """Expansion of the mould, 1/K."""
        return float(self.mean[self.index["mould expansion"]])


def nose_model() -> Model:
    """The chain of the nose example at its print file's diameter, made straight."""
    job = read_job(NOSE)
    plan = make_plan(job, library_of(job))
    chain, lead, file = plan.fit.chain, plan.fit.chain.lead, plan.fit.file_diameter

    def ready(v: Values) -> Array:
        return chain.ready(v, chain.printed(v, file))

    models: dict[str, Callable[[Values], Array]] = {
        "printed": lambda v: chain.printed(v, file),
        "ready": ready,
        "bore": lambda v: chain.bore(lead, v, ready(v)),
        "play": lambda v: chain.from_file(lead, v, file),
    }

    def straighten(of: Callable[[Values], Array]) -> uncertainty.Propagated:
        def rows_of(rows: Array) -> Array:
            return of(chain.values(rows.T))

        return uncertainty.propagate(rows_of, chain.mean, chain.covariance)

    straight = {name: straighten(of) for name, of in models.items()}
    shares = shares_of(chain, plan.library)
    variance, root = np.diag(chain.covariance), np.sqrt(shares.lasting)
    index = {item.name: row for row, item in enumerate(chain.inputs)}
    noise, zero = reading_doubt(plan)
    grown = chain.bore(lead, chain.values(chain.mean[:, None]), np.array([RING + 1e-4, RING]))
    return Model(
        plan,
        file,
        chain.mean,
        chain.covariance,
        chain.covariance * root[:, None] * root,
        shares.mould * variance,
        shares.part * variance,
        np.array(shares.link),
        [index[name] for name in chain.treatments],
        index,
        {name: told.value for name, told in straight.items()},
        straight["printed"].sensitivities,
        straight["ready"].sensitivities,
        straight["bore"].sensitivities,
        straight["play"].sensitivities,
        float((grown[0] - grown[1]) / 1e-4),
        noise,
        zero,
        job.shop.caliper.value,
        plan.library.practice["learning"]["spread_degrees"].value,
        lead.place.window,
    )


def reading_doubt(plan: Plan) -> tuple[Array, float]:
    """Variance of the mean of two readings at right angles by stage, and of the tool's zero (m²).

    As learning takes it of a log: jaws and zero of the caliper, the oval, a temperature not read.
    """
    habits, caliper = plan.library.practice["learning"], plan.job.shop.caliper.value
    form, own = plan.library.practice["print"]["form"].value, habits["tool_lasts"].value
    plastic = float(plan.fit.chain.mean[plan.fit.chain.index("mould expansion")])
    warmth = RING * 2.0 * habits["thermometer"].value * np.array([plastic] * 3 + [12e-6])
    return caliper**2 * (1.0 - own) / 2.0 + 0.5 * form**2 / 2.0 + warmth**2, own * caliper**2


def assumed_laid(chain: Chain, ready: float) -> dict[str, float]:
    """What the chain takes bore minus ready mould to be, by cause (m); their sum is exact.

    Heat is what goes when the mould sets at the reference temperature, cure what then goes
    without cure shrinkage, springback what goes without it; the coats are left.
    """
    mean = dict(chain.values(chain.mean[:, None]))

    def bore(**changed: float) -> float:
        values = {**mean, **{key.replace("_", " "): np.array([v]) for key, v in changed.items()}}
        return float(chain.bore(chain.lead, values, np.array([ready]))[0])

    hot, cold = bore(), bore(set_temperature=chain.reference)
    bare = bore(set_temperature=chain.reference, share_kept=0.0)
    plain = bore(set_temperature=chain.reference, share_kept=0.0, springback=0.0)
    coats = {name: chain.lead.secant * float(mean[name][0]) for name in chain.films}
    strains = {"heat": hot - cold, "cure": cold - bare, "springback": bare - plain}
    return {**coats, **strains}


@dataclass
class Belief:
    """What each shop holds of the inputs: mean (N, k), what lasts (N, k, k), factors (N, link)."""

    mean: Array
    lasting: Array
    factors: Array

    def covariance(self, model: Model) -> Array:
        """Of the next part on the next mould, (N, k, k)."""
        differs = (model.mould + model.part) * self.factors[:, model.link]
        return np.asarray(self.lasting + differs[:, :, None] * np.eye(len(model.mean)))


def prior(model: Model, shops: int) -> Belief:
    """Job and library, the same in every shop."""
    k = len(model.mean)
    lasting = np.broadcast_to(model.lasting, (shops, k, k)).copy()
    return Belief(np.tile(model.mean, (shops, 1)), lasting, np.ones((shops, len(LINKS))))


def learned(model: Model, gaps: Array, taken: Flags, mended: Flags, ring: Array | None) -> Belief:
    """The posterior of every shop, by the product's own learning.

    gaps (N, T, stage): reading minus prediction at its file; taken the same shape; mended (N, T);
    ring (N,): gap of one ring, a print of its own.
    """
    shops, moulds, stages = gaps.shape
    kind = np.tile(np.arange(stages), moulds)
    mould = np.repeat(np.arange(moulds), stages)
    slopes = np.array([model.prints, model.held, model.held, model.laid])
    C, y = slopes[kind], gaps.reshape(shops, -1)
    there = taken.reshape(shops, -1)
    if ring is not None:
        C, mould = np.vstack([C, _ring(model)]), np.append(mould, moulds)
        kind = np.append(kind, 0)
        y = np.column_stack([y, ring])
        there = np.column_stack([there, np.ones(shops, bool)])
    used = there.any(axis=0)  # stages that no shop reads are left out
    C, y, there, kind, mould = C[used], y[:, used], there[:, used], kind[used], mould[used]
    n = len(kind)
    same = mould[:, None] == mould
    parts = same & (kind == 3)[:, None] & (kind == 3)
    kernels = []
    for link in range(3):
        own = np.where(model.link == link, 1.0, 0.0)
        kernels.append((C * own * model.mould) @ C.T * same + (C * own * model.part) @ C.T * parts)
    noise = np.broadcast_to(np.diag(model.noise[kind]) + model.zero, (shops, n, n)).copy()
    after = np.append(mended, np.zeros((shops, 1), bool), axis=1)  # a ring is never mended
    free = after[:, mould] & (kind >= 2)
    noise += FREE**2 * (free[:, :, None] & free[:, None, :] & same)
    away = np.where(there, 0.0, 1.0)  # 1 m² of noise: nothing is told
    noise += away[:, :, None] * np.eye(n)
    y = np.where(there, y, 0.0)
    odd = np.vstack([np.eye(n), *[(mould == m).astype(float)[None] for m in range(moulds)]])
    return _in_chunks(model, C, y, noise, np.array(kernels), factor_grid(3, model.degrees), odd)


def _ring(model: Model) -> Array:
    row = np.zeros(len(model.mean))
    row[model.index["shrink"]], row[model.index["offset"]] = -RING, 1.0
    row[model.index["scatter"]] = 1.0
    return row


def _in_chunks(
    model: Model, C: Array, y: Array, noise: Array, kernels: Array, grid: Factors, odd: Array
) -> Belief:
    """Learning of as many shops at a time as memory holds."""
    shops, n = y.shape
    k = len(model.mean)
    out = prior(model, shops)
    chunk = max(1, int(MOST_BYTES / (8.0 * len(grid.weights) * n * (n + k))))
    for first in range(0, shops, chunk):
        part = slice(first, first + chunk)
        told = learn(C, y[part], noise[part], np.zeros(k), model.lasting, kernels, grid, odd)
        out.mean[part] = model.mean + told.mean
        out.lasting[part] = told.covariance
        out.factors[part, :3] = told.factors
    return out


@cache
def outcome(model_window: tuple[float, float], step: int) -> aim.Outcome:
    """Fit and rework over the expected play, for a spread of play of ``step`` steps."""
    z = np.array([NormalDist().inv_cdf((i + 0.5) / 2000) for i in range(2000)])
    return aim.outcome(step * SIGMA_STEP * z, 0.0, 1.0, model_window, costs())


@lru_cache(maxsize=1)
def costs() -> aim.Costs:
    """Rework of the library."""
    return aim.read_costs(library_of(read_job(NOSE)))


@cache
def aimed(window: tuple[float, float], step: int, doubt: int, caliper: float) -> float:
    """Expected play to print for, of least rework when every mould is read (m)."""
    return aim.aim_print(doubt * DOUBT_STEP, outcome(window, step), costs(), caliper).aim
