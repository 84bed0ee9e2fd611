"""What the chain predicts of a reading at each stage: models to be made straight about the mean."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics import uncertainty
from mandrelwright.stages.chain import Chain, Station, Values

Array = NDArray[np.float64]

TREATED = {"sanded": "sanding", "smoothed": "smoothing", "filled": "filler"}
MOULD_STAGES = ("printed", *TREATED, "ready", "filmed")
PART_STAGES = ("set", "part", "finished")


def straight(chain: Chain, model: Callable[[Values], Array]) -> uncertainty.Propagated:
    """A predicted reading and its slopes at the mean inputs."""

    def of_rows(rows: Array) -> Array:
        return model(chain.values(rows.T))

    return uncertainty.propagate(of_rows, chain.mean, chain.covariance)


def mould_at(chain: Chain, v: Values, file: float, secant: float, stage: str) -> Array:
    """Diameter of a mould at a stage of its preparation."""
    size = chain.printed(v, file)
    if stage == "printed":
        return size
    done = chain.treatments
    if stage in TREATED:
        last = [n for n, label in enumerate(done) if label.startswith(TREATED[stage])]
        done = done[: last[-1] + 1] if last else done
    else:
        done = done + (chain.films if stage == "filmed" else ())
    return np.asarray(size + secant * sum((v[label] for label in done), np.float64(0.0)))


def length_at(v: Values, file: float) -> Array:
    """A length along the axis as printed (m): file·(1 − shrink up)."""
    return np.asarray(file * (1.0 - v["shrink up"]))


def part_at(
    chain: Chain, v: Values, file: float, station: Station, of: str, stage: str = "part"
) -> Array:
    """A part's own diameter, or its wall, at a fit: on the mould, released, or finished."""
    if of == "wall":
        return chain.wall(station, v)
    ready = chain.ready(v, chain.printed(v, file), station.secant)
    if stage == "set":
        return chain.laid(station, v, ready)
    bore = chain.bore(station, v, ready)
    if station.place.fit.kind == "bore":
        return bore
    coats = 2.0 * chain.coated(station, v) if stage == "finished" else 0.0
    return chain.outside(station, v, bore) + coats
