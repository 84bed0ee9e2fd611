"""Chains of three-noded elements: elimination from end to end, and the largest eigenvalue.

An element holds the unknowns of its first, middle and last node, (..., 15); a chain is
(wave, node, 5), all numbers of waves side by side. numpy has no banded solver; blocks of five
unknowns, one product for all waves at a time, come close to one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


STEPS, EVERY = 120, 8  # of Lanczos at most, and between two looks at the residual
SETTLED = 3e-3  # residual over eigenvalue; the eigenvalue itself is then far nearer


def largest(K: Array, M: Array, kept: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Largest μ of M u = μ K u and its vector (wave, node, 5), for all waves side by side.

    Lanczos in the inner product of K, every new vector made orthogonal to all before.
    ``K`` positive definite, ``M`` symmetric, (wave, element, 15, 15); ``kept`` (wave, node, 5).
    """
    factors, waves = Factors(K), len(K)
    size = min(STEPS, int(kept.reshape(waves, -1).sum(axis=1).min()))
    w = factors.solve(np.random.default_rng(0).normal(size=kept.shape) * kept)
    Kw = times(K, w)
    basis = np.zeros((waves, size, w[0].size))
    stretched = np.zeros_like(basis)  # K times the basis
    T = np.zeros((waves, size, size))
    norm = _length(w, Kw)
    for step in range(size):
        w, Kw = w / norm, Kw / norm
        basis[:, step], stretched[:, step] = w.reshape(waves, -1), Kw.reshape(waves, -1)
        pulled = times(M, w) * kept
        T[:, step, step] = (w * pulled).sum(axis=(1, 2))
        made = factors.solve(pulled)
        part = np.einsum("wkn,wn->wk", stretched[:, : step + 1], made.reshape(waves, -1))
        w = made - _sum(part, basis[:, : step + 1]).reshape(made.shape)
        Kw = pulled - _sum(part, stretched[:, : step + 1]).reshape(made.shape)
        norm = _length(w, Kw)
        left = norm[:, 0, 0]
        if step % EVERY == EVERY - 1 or step == size - 1:
            mu, s = np.linalg.eigh(T[:, : step + 1, : step + 1])
            if np.all(left * np.abs(s[:, -1, -1]) < SETTLED * np.abs(mu[:, -1])):
                break
        if step + 1 < size:
            T[:, step, step + 1] = T[:, step + 1, step] = left
    mode = np.matmul(s[:, None, :, -1], basis[:, : step + 1])[:, 0]
    return mu[:, -1], mode.reshape(kept.shape)


def _length(w: Array, Kw: Array) -> Array:
    """Length of w in the inner product of K, (wave, 1, 1)."""
    return np.asarray(np.sqrt(np.maximum((w * Kw).sum(axis=(1, 2), keepdims=True), 1e-300)))


def _sum(part: Array, basis: Array) -> Array:
    """Σ part × basis, (wave, unknown); the threads of matmul would cost more."""
    return np.asarray(np.einsum("wkn,wk->wn", basis, part))


class Factors:
    """Block elimination along the meridian: middle nodes within elements, then rim to rim."""

    def __init__(self, K: Array) -> None:
        ends = np.r_[0:5, 10:15]
        middle = np.linalg.inv(K[:, :, 5:10, 5:10])
        across = K[:, :, 5:10, ends]
        self.middle, self.carried = middle, middle @ across
        small = K[:, :, ends[:, None], ends] - across.transpose(0, 1, 3, 2) @ self.carried
        waves, elements = K.shape[:2]
        own = np.zeros((waves, elements + 1, 5, 5))
        own[:, :-1] += small[..., :5, :5]
        own[:, 1:] += small[..., 5:, 5:]
        next_ = small[..., :5, 5:]
        self.inverse = np.empty_like(own)
        self.step = np.empty_like(next_)
        for i in range(elements + 1):
            if i:
                back = next_[:, i - 1].transpose(0, 2, 1)
                own[:, i] -= back @ self.step[:, i - 1]
            self.inverse[:, i] = np.linalg.inv(own[:, i])
            if i < elements:
                self.step[:, i] = self.inverse[:, i] @ next_[:, i]

    def solve(self, force: Array) -> Array:
        """u of K u = force, both (wave, node, 5)."""
        inner = force[:, 1::2, :, None]
        down = (self.carried.transpose(0, 1, 3, 2) @ inner)[..., 0]
        f = force[:, 0::2].copy()
        f[:, :-1] -= down[..., :5]
        f[:, 1:] -= down[..., 5:]
        f = np.ascontiguousarray(f.transpose(1, 0, 2))[..., None]
        back = np.ascontiguousarray(self.step.transpose(1, 0, 3, 2))
        for i in range(1, len(f)):
            f[i] -= back[i - 1] @ f[i - 1]
        f = self.inverse.transpose(1, 0, 2, 3) @ f
        step = np.ascontiguousarray(self.step.transpose(1, 0, 2, 3))
        for i in range(len(f) - 2, -1, -1):
            f[i] -= step[i] @ f[i + 1]
        rims = f[..., 0].transpose(1, 0, 2)
        moved = np.empty_like(force)
        moved[:, 0::2] = rims
        both = np.concatenate((rims[:, :-1], rims[:, 1:]), axis=-1)[..., None]
        moved[:, 1::2] = (self.middle @ inner - self.carried @ both)[..., 0]
        return moved


def gather(values: Array) -> Array:
    """(wave, node, 5) as (wave, element, 15)."""
    parts = (values[:, :-2:2], values[:, 1:-1:2], values[:, 2::2])
    return np.concatenate(parts, axis=-1)


def times(K: Array, u: Array) -> Array:
    """K u of the whole shell from its elements."""
    forces = np.einsum("weij,wej->wei", K, gather(u))
    out = np.zeros_like(u)
    out[:, :-2:2] += forces[..., :5]
    out[:, 1:-1:2] += forces[..., 5:10]
    out[:, 2::2] += forces[..., 10:]
    return out
