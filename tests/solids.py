"""One whole solid of a print form, uncut and unmarked, put together as the pieces are."""

from __future__ import annotations

import numpy as np

from mandrelwright.out.solid import Mesh
from mandrelwright.out.turning import put_together
from mandrelwright.stages.print import PrintForm
from mandrelwright.stages.turned import Turned, decimate, pillar


def make_solid(form: PrintForm, facets: int | None = None) -> Mesh:
    """The profile on its flange with its holes; the polygon of ``facets`` if given."""
    rim, foot = form.flange or (0.0, 0.0)
    line = decimate(np.column_stack([form.radius, form.height + foot]).astype(float))
    if foot:
        line = np.vstack([[rim, 0.0], [rim, foot], line])
    top = float(line[-1, 1])
    holes = form.holes()
    axial = next((d / 2.0 for x, d in holes if x == 0.0), 0.0)
    end = [[axial, top]] if line[-1, 0] > axial else []
    body = Turned(np.array([[axial, 0.0], *line, *end]))
    beside = [pillar(d / 2.0, -1e-3, top + 1e-3).at(x, 0.0) for x, d in holes if x > 0.0]
    return put_together(body, beside, (), len(holes), facets)
