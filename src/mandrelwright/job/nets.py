"""A stated sleeve as the numbers of its net, whichever way the builder knows it."""

from __future__ import annotations

import math
from typing import NamedTuple, TypeVar

from mandrelwright.job.layup import Sleeve
from mandrelwright.job.materials import Library
from mandrelwright.physics import braid
from mandrelwright.quantities import Quantity

T = TypeVar("T")


class Net(NamedTuple):
    """Fibre, all tows, one tow (kg/m), diameter at 45 degrees (m), width at which tows jam (m),
    and the braid angle (rad) at which the sleeve was labelled or weighed."""

    fibre: str
    tows: int
    tow: Quantity
    diameter_at_45: Quantity
    narrowest_tow: float
    label_angle: float


def read_net(sleeve: Sleeve, library: Library) -> Net:
    """The net of a sleeve, from its label, from the scale or from the library.

    Weighed: N·T = (kg/m)·cos θ with θ at the weighed diameter. A width that was not stated
    comes from the library, by fibre and linear density.
    """
    fibre, tows, tow, at_45, theta = _known(sleeve, library)
    stated = sleeve.narrowest_tow
    width = stated.value if stated else library.narrowest_tow(fibre, tow.value).value
    return Net(fibre, tows, tow, at_45, width, theta)


def _known(sleeve: Sleeve, library: Library) -> tuple[str, int, Quantity, Quantity, float]:
    quarter = math.pi / 4.0
    if sleeve.library is not None:
        entry = library.sleeves[sleeve.library]
        tow, at_45 = (
            Quantity(entry[key].value, entry[key].spread) for key in ("tow", "diameter_at_45")
        )
        return entry.words["fibre"].words[0], round(entry["tows"].value), tow, at_45, quarter
    fibre, at_45 = _complete(sleeve.fibre), _complete(sleeve.diameter_at_45)
    if sleeve.weighed is None:
        return fibre, _complete(sleeve.tows), _complete(sleeve.tow), at_45, quarter
    scale = sleeve.weighed
    theta = float(braid.angle(scale.diameter.value, at_45.value))
    share = math.cos(theta) / scale.tows
    mass = scale.mass_per_length
    return fibre, scale.tows, Quantity(mass.value * share, mass.spread * share), at_45, theta


def _complete(value: T | None) -> T:
    """A value that the sleeve's own checks have made sure of."""
    if value is None:
        raise TypeError("a sleeve was let through incomplete")
    return value
