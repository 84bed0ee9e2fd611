"""What the calipers should read on the prepared mould."""

from __future__ import annotations

import numpy as np

from mandrelwright.draft import Draft
from mandrelwright.stages.mould import Mark


def target(plan: Draft, mark: Mark) -> float:
    """Diameter (m) to aim at on a caliper mark of the mould ready to wax."""
    return 2.0 * float(np.interp(mark.x, plan.fit.ready.x, plan.fit.ready.r))
