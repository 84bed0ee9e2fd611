"""What solvent vapour takes off a diameter: from the builder's rings, or a wide guess."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.coupons import Coupons
from mandrelwright.job.materials import Library
from mandrelwright.job.tooling import Smooth
from mandrelwright.physics import roughness
from mandrelwright.physics.regression import (
    Regression,
    prediction_deviation,
    regress,
    student_quantile,
)
from mandrelwright.quantities import Quantity
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

SMOOTHING = "materials.practice.smoothing."
FACE = (  # what the face that is smoothed is like
    "surface.roughness",
    "job.surface[*]",
    f"{SMOOTHING}roughness_left",
    "materials.practice.roughness.finished",
)
MODEL_DOUBT = 0.5  # relative spread of a levelling loss that no coupon has told
BAND = 0.95  # probability of the prediction band that is shown
NORMAL = 1.959963984540054  # half width of that band of a normal distribution
TIMES_TO_FIT = 4  # different times below which τ is not told by rings
GRID = 400  # time constants tried between
SHORTEST, LONGEST = 0.05, 20.0  # of the shortest and the longest ring's time
NEWTON_STEPS = 8
RESOLUTION = 0.01e-3 / math.sqrt(6.0)  # m: two readings rounded to a caliper's 0.01 mm


@dataclass(frozen=True)
class RingFit:
    """The loss of diameter that smoothed rings predict for the mould's time, and its band."""

    label: str
    rings: int = result("rings smoothed")
    longest: float = result("longest time of a ring", "min")
    told: str = result("where the time constant is from")
    time_constant: float = result(
        "time constant of levelling", "min", spread="time_constant_spread"
    )
    time_constant_spread: float = result("its standard uncertainty", "min")
    scatter: float = result("scatter of rings about the fit", "mm", regress)
    degrees: int = result("degrees of freedom", by=regress)
    loss: float = result("predicted loss on diameter", "mm", regress, spread="spread")
    spread: float = result("spread of a normal with the same 95 % band", "mm", prediction_deviation)
    band: tuple[float, float] = result("95 % prediction band", "mm", prediction_deviation)
    uses: tuple[str, ...] = ()


class Smoothed(NamedTuple):
    """Loss on diameter ± spread (m), how it is known; the time constant (s), by what."""

    loss: float
    spread: float
    basis: str
    source: str
    uses: tuple[str, ...]
    time_constant: Quantity
    levels_by: str
    fit: RingFit | None = None


def smooth(
    stated: Smooth, label: str, key: str, ra: float, coupons: Coupons | None, library: Library
) -> Smoothed:
    """What smoothing takes off: as stated, as rings predict, or a guess.

    Rings: loss = a + b (1 − e^(−t/τ)) by least squares, τ as stated or from the library; with
    four times or more and none stated τ is fitted too, through zero (a = 0). The spread is that
    of a normal with the same 95 % prediction band: t·s√(1 + gᵀ(XᵀX)⁻¹g)/1.96. Without rings:
    (2h/3)(1 − e^(−t/τ)) of scallops h, and run-off.
    ``ra`` of the face before (m); ``key`` is the treatment's place in the job.
    """
    tau, at = _time_constant(stated, key, library)
    ringed = "measured", "coupon in the job"
    if stated.loss is not None:
        loss = stated.loss
        return Smoothed(loss.value, loss.spread, *ringed, (f"{key}.loss",), tau, at)
    if coupons is not None:
        fit = predict_loss(coupons, stated.time.value, tau, stated.time_constant is not None)
        uses = f"{key}.coupon", f"{key}.time", at
        known = RingFit(label, *fit, uses)
        tau = Quantity(known.time_constant, known.time_constant_spread)
        return Smoothed(known.loss, known.spread, *ringed, uses, tau, at, known)
    share = roughness.levelled_share(stated.time.value, tau.value)
    levelled = float(roughness.levelling_loss(roughness.scallop_height(ra), share))
    extra = library.practice["smoothing"]["extra_loss"]
    spread = float(np.hypot(MODEL_DOUBT * levelled, extra.spread))
    basis, source = extra.basis, extra.source
    guess = f"{key}.time", at, f"materials.{extra.path}", *FACE
    return Smoothed(levelled + extra.value, spread, basis, source, guess, tau, at)


def _time_constant(stated: Smooth, key: str, library: Library) -> tuple[Quantity, str]:
    """τ as stated or from the library by the vapour's warmth, and its name."""
    if stated.time_constant is not None:
        return stated.time_constant, f"{key}.time_constant"
    warm = "hot" in stated.agent or "warm" in stated.agent
    datum = library.practice["smoothing"]["time_constant_hot" if warm else "time_constant_cold"]
    return Quantity(datum.value, datum.spread), f"materials.{datum.path}"


class Prediction(NamedTuple):
    """The fields of a RingFit between its label and its uses, in their order."""

    rings: int
    longest: float
    told: str
    time_constant: float
    time_constant_spread: float
    scatter: float
    degrees: int
    loss: float
    spread: float
    band: tuple[float, float]


def predict_loss(coupons: Coupons, time: float, tau: Quantity, stated: bool) -> Prediction:
    """Loss on diameter after ``time`` s that rings predict; τ ± spread where they cannot tell it.

    loss = a + b (1 − e^(−t/τ)); a is left out for rings of one time, and where τ is fitted:
    nothing is lost in no time. The doubt of a τ that is not fitted comes on top.
    """
    t, loss = np.array(coupons.time), np.array(coupons.before) - np.array(coupons.after)
    several = len(set(coupons.time))
    fitted = None if stated or several < TIMES_TO_FIT else _fit_time_constant(t, loss)
    if fitted is not None:
        told, constant = "rings", fitted
        row = loss_slopes(np.array([time]), constant.value, constant.full)[0]
        fit, predicted, doubt = constant.fit, row[0] * constant.full, 0.0
        constant_spread = float(constant.fit.deviations[1])
    else:
        told, constant_spread = ("job" if stated else "library"), tau.spread
        fit, row, predicted = _line(t, loss, time, tau.value, several > 1)
        step = min(tau.spread, 0.5 * tau.value)
        ends = [_line(t, loss, time, tau.value + way * step, several > 1)[2] for way in (-1, 1)]
        doubt = 0.5 * abs(ends[1] - ends[0])
    wide = student_quantile(BAND, fit.degrees)
    deviation = max(prediction_deviation(fit, row), RESOLUTION)
    spread = math.hypot(wide * deviation / NORMAL, doubt)
    half = NORMAL * spread
    return Prediction(
        len(t),
        float(t.max()),
        told,
        fitted.value if fitted else tau.value,
        constant_spread,
        fit.residual,
        fit.degrees,
        float(predicted),
        spread,
        (float(predicted - half), float(predicted + half)),
    )


def _line(
    t: Array, loss: Array, time: float, tau: float, intercept: bool
) -> tuple[Regression, Array, float]:
    """Regression of loss on the levelled share for one τ; where the mould lies; its loss."""
    share = roughness.levelled_share(np.append(t, time), tau)
    design = np.column_stack([np.ones_like(share), share] if intercept else [share])
    fit = regress(design[:-1], loss)
    return fit, design[-1], float(design[-1] @ fit.coefficients)


class _Fitted(NamedTuple):
    value: float  # s
    full: float  # loss after a long time, m
    fit: Regression  # linear about it, in (full, τ)


def _fit_time_constant(t: Array, loss: Array) -> _Fitted | None:
    """Least squares in (b, τ) of loss = b (1 − e^(−t/τ)); None where the rings do not tell τ.

    A grid finds the valley, Gauss-Newton its floor.
    """
    low, high = SHORTEST * t[t > 0.0].min(), LONGEST * t.max()
    grid = np.geomspace(low, high, GRID)
    shares = roughness.levelled_share(t, grid[:, None])
    full = shares @ loss / np.sum(shares * shares, axis=1)
    error = np.sum((loss - full[:, None] * shares) ** 2, axis=1)
    best = int(np.argmin(error))
    if best in (0, GRID - 1) or full[best] <= 0.0:
        return None
    b, tau = float(full[best]), float(grid[best])
    for _ in range(NEWTON_STEPS):
        slopes = loss_slopes(t, tau, b)
        step = np.linalg.lstsq(slopes, loss - b * slopes[:, 0], rcond=None)[0]
        b, tau = b + float(step[0]), float(np.clip(tau + step[1], grid[best - 1], grid[best + 1]))
    slopes = loss_slopes(t, tau, b)
    linear = regress(slopes, loss - b * slopes[:, 0] + slopes @ np.array([b, tau]))
    return _Fitted(tau, b, linear)


def loss_slopes(t: Array, tau: float, full: float) -> Array:
    """∂loss/∂b and ∂loss/∂τ of loss = b (1 − e^(−t/τ)), (ring, 2)."""
    return np.column_stack(
        [roughness.levelled_share(t, tau), -full * t / tau**2 * np.exp(-t / tau)]
    )
