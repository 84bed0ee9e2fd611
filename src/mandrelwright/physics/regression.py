"""Linear least squares with a prediction band, and Student's t for few degrees of freedom."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

HALVINGS = 60  # of the interval in which a quantile lies: down to rounding


class Regression(NamedTuple):
    """Least squares of y on the columns of a design matrix.

    ``coefficients`` b (p,), ``inverse`` (XᵀX)⁻¹ (p, p), ``residual`` s, standard deviation of
    one observation about the fit, ``degrees`` of freedom n − p.
    """

    coefficients: Array
    inverse: Array
    residual: float
    degrees: int

    @property
    def deviations(self) -> Array:
        """Standard deviation of each coefficient: s √diag (XᵀX)⁻¹."""
        return np.asarray(self.residual * np.sqrt(np.diag(self.inverse)))


def regress(design: ArrayLike, response: ArrayLike) -> Regression:
    """Ordinary least squares: b = (XᵀX)⁻¹ Xᵀy by QR, s² = Σ(y − Xb)²/(n − p).

    ``design`` X (n, p) with n > p and independent columns, ``response`` y (n,).
    Raises numpy.linalg.LinAlgError when the columns say the same.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.4.3.1.
    """
    X, y = np.asarray(design, float), np.asarray(response, float)
    Q, R = np.linalg.qr(X)
    inverse = np.linalg.inv(R)
    b = inverse @ (Q.T @ y)
    degrees = X.shape[0] - X.shape[1]
    s = math.sqrt(float(np.sum((y - X @ b) ** 2)) / degrees)
    return Regression(b, inverse @ inverse.T, s, degrees)


def prediction_deviation(fit: Regression, row: ArrayLike) -> float:
    """Standard deviation of one new observation about its prediction: s √(1 + gᵀ(XᵀX)⁻¹g).

    ``row`` g (p,): where the new observation lies, as a row of the design matrix. The band
    that holds it with probability P is ± t_(1+P)/2(n − p) times as wide.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.1.2.
    """
    g = np.asarray(row, float)
    return fit.residual * math.sqrt(1.0 + float(g @ fit.inverse @ g))


def student_probability(t: float, degrees: int) -> float:
    """Probability that Student's t of ν degrees lies within ± t.

    With θ = arctan(t/√ν): ν even: sin θ [1 + ½cos²θ + (1·3)/(2·4) cos⁴θ + … to cos^(ν−2)θ];
    ν odd: (2/π)(θ + sin θ cos θ [1 + ⅔cos²θ + … to cos^(ν−3)θ]), its bracket absent for ν = 1.
    Source: Abramowitz & Stegun, 26.7.3 and 26.7.4, from memory.
    """
    theta = math.atan2(t, math.sqrt(degrees))
    sine, square = math.sin(theta), math.cos(theta) ** 2
    term, total, odd = 1.0, 0.0, degrees % 2
    for k in range(2 + odd, degrees + 1, 2):
        total += term
        term *= square * (k - 1) / k
    if not odd:
        return sine * total
    return 2.0 / math.pi * (theta + sine * math.cos(theta) * total)


def student_quantile(probability: float, degrees: int) -> float:
    """The t within whose ± a share ``probability`` of Student's t of ν degrees lies.

    >>> round(student_quantile(0.95, 10), 3)
    2.228
    """
    low, high = 0.0, 0.5 * math.pi
    root = math.sqrt(degrees)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        inside = student_probability(root * math.tan(middle), degrees)
        low, high = (middle, high) if inside < probability else (low, middle)
    return root * math.tan(0.5 * (low + high))
