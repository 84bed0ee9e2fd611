"""One thread for linear algebra: the matrices of a plan are too small to share among several."""

from __future__ import annotations

import os

NAMES = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def use_one_thread() -> None:
    """Ask for one thread unless the user's environment asks for more; before numpy is imported."""
    for name in NAMES:
        os.environ.setdefault(name, "1")
