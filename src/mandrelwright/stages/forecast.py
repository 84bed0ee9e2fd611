"""How often the first part fits, by what is read before the resin is mixed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import uncertainty
from mandrelwright.stages import aim
from mandrelwright.stages.chain import Chain
from mandrelwright.stages.chain_inputs import SCATTER, on_rings, print_scatter
from mandrelwright.stages.record import result

Array = NDArray[np.float64]

UNREAD = ("fit.outcome", "job.fit[{lead}].mates", "job.shop.caliper")
READY = ("input.shrink", "input.offset", "input.scatter", "input.{treatment}")


@dataclass(frozen=True)
class Forecast:
    """How often the first part fits, by what is read before the resin is mixed."""

    unread: float = result(
        "share that fits, printed for the wanted size and laid up", "%", uses=(*UNREAD, *READY)
    )
    ring: float = result(
        "the same after one ring at the fit's diameter",
        "%",
        (aim.fits_about, uncertainty.condition),
        (*UNREAD, *READY, *SCATTER),
    )
    gated: float = result(
        "share that fits, the prepared mould read and mended", "%", (), ("fit.gate.laid_up_read",)
    )
    as_filed: float = result(
        "share that fits, laid up unread from this print file, which may be large on purpose",
        "%",
        (),
        ("fit.gate.laid_up_unread",),
    )


def forecast(
    job: Job, chain: Chain, out: aim.Outcome, gate: aim.Gate, library: Library
) -> Forecast:
    """What a ring at the fit's own diameter, and the gate, would buy, before either is read.

    A reading to come narrows the covariance whatever it will say; the print is then aimed anew.
    """
    size, caliper = chain_size(chain), job.shop.caliper.value
    doubt = float(np.hypot(caliper, print_scatter(job, library, size)))
    ring = on_rings(chain, np.array([size]), _predicted_ring(chain, size), np.array([doubt]))

    def straight(known: Chain) -> float:
        return aim.fits_about(out.best, aim.before_reading(ready_doubt(known), caliper), out)

    return Forecast(straight(chain), straight(ring), gate.laid_up_read, gate.laid_up_unread)


def _predicted_ring(chain: Chain, size: float) -> Array:
    """What a ring of this file diameter is expected to read (m)."""
    shrink, offset = chain.mean[chain.index("shrink")], chain.mean[chain.index("offset")]
    return np.array([size * (1.0 - shrink) + offset])


def ready_doubt(chain: Chain) -> float:
    """Standard uncertainty of the prepared mould's diameter before anybody reads it (m)."""

    def model(rows: Array) -> Array:
        v = chain.values(rows.T)
        return chain.ready(v, chain.printed(v, chain_size(chain)))

    return uncertainty.propagate(model, chain.mean, chain.covariance).spread


def chain_size(chain: Chain) -> float:
    """Diameter of the leading fit's mate: the size at which shrink is weighed (m)."""
    return chain.lead.place.fit.mates.value
