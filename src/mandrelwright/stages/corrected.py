"""The dimension chain as the readings of this shop correct it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from mandrelwright.findings import fit as say
from mandrelwright.findings.finding import Finding
from mandrelwright.job.corrections import Corrected, Corrections
from mandrelwright.stages.chain import Chain

SAME = 1e-9  # relative: an input stated as it was when its correction was learned
THIS_SHOP = "this shop"


def with_corrections(chain: Chain, corrections: Corrections | None) -> Chain:
    """The chain with learned means and covariance in place of those of job and library.

    An input whose own statement (or ring) changed since the learning keeps the new statement.
    """
    heeded = [
        (number, item)
        for number, item in enumerate(corrections.inputs if corrections else ())
        if _stands(chain, item)
    ]
    if corrections is None or not heeded:
        return chain
    theirs = [number for number, _ in heeded]
    ours = [chain.index(item.name) for _, item in heeded]
    mean, covariance = chain.mean.copy(), chain.covariance.copy()
    mean[ours] = [item.mean for _, item in heeded]
    covariance[ours, :] = covariance[:, ours] = 0.0
    learned = np.array(corrections.covariance)
    covariance[np.ix_(ours, ours)] = learned[np.ix_(theirs, theirs)]
    inputs = tuple(
        replace(item, basis=THIS_SHOP, source="job") if row in ours else item
        for row, item in enumerate(chain.inputs)
    )
    return replace(chain, inputs=inputs, mean=mean, covariance=covariance)


def _stands(chain: Chain, item: Corrected) -> bool:
    """Whether the chain has this input and still says of it what the learning started from."""
    row = next((i for i, own in enumerate(chain.inputs) if own.name == item.name), None)
    if row is None:
        return False
    spread = math.sqrt(chain.covariance[row, row])
    near = abs(float(chain.mean[row]) - item.prior) <= SAME * max(abs(item.prior), spread)
    return near and math.isclose(spread, item.prior_spread, rel_tol=SAME)


def check_corrections(chain: Chain, corrections: Corrections | None) -> list[Finding]:
    """How many readings the plan rests on, and which corrections no longer apply.

    ``chain``: as the plan has it, corrected.
    """
    if corrections is None:
        return []
    bases = {item.name: item.basis for item in chain.inputs}
    stale = [item.name for item in corrections.inputs if bases.get(item.name) != THIS_SHOP]
    told = [say.rests_on(corrections.readings, len(corrections.moulds))]
    return [say.corrections_stale(stale), *told] if stale else told
