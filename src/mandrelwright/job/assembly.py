"""What is fixed to the part once it is off the mould, and what is coated on it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from mandrelwright.job.values import (
    BoxSize,
    Diameter,
    Film,
    Hole,
    InputError,
    Length,
    Name,
    Place,
    Spot,
    Table,
    Text,
    Weight,
    default,
)
from mandrelwright.quantities import Quantity

THREADS = {  # outside diameter and pitch, m: ISO 261 coarse, ASME B1.1 UNC
    "M2": (2.0e-3, 0.40e-3),
    "M2.5": (2.5e-3, 0.45e-3),
    "M3": (3.0e-3, 0.50e-3),
    "M4": (4.0e-3, 0.70e-3),
    "2-56": (0.0860 * 25.4e-3, 25.4e-3 / 56.0),
    "4-40": (0.1120 * 25.4e-3, 25.4e-3 / 40.0),
    "6-32": (0.1380 * 25.4e-3, 25.4e-3 / 32.0),
}
Thread = Literal["M2", "M2.5", "M3", "M4", "2-56", "4-40", "6-32"]
MeasuredWall = Annotated[Quantity, Text("length", "0.1 mm", "30 mm")]
Metal = Literal["aluminium", "steel", "stainless steel", "brass", "titanium"]
Material = Metal | Literal["plastic", "wood", "glass laminate", "carbon laminate", "other"]


class Item(Table):
    """One thing fixed to the part: tip, coupler, bulkhead, ballast, a nut with its bolt."""

    name: Name
    mass: Weight
    from_base: Annotated[
        Spot, Field(description="its baseward end, or the point it balances on where it is all")
    ]
    to_base: Spot | None = Field(None, description="its tipward end; it weighs alike in between")
    diameter: Diameter | None = Field(None, description="outside, if it is round the axis")
    bore: Diameter | None = Field(None, description="of its hole")
    material: Material = Field("other", description="a metal on carbon is asked to be isolated")
    isolated: bool = Field(False, description="glass, film or glue keeps it off the wall")

    @model_validator(mode="after")
    def _is_a_body(self) -> Self:
        if self.to_base is not None and self.to_base.value <= self.from_base.value:
            raise InputError(
                "must lie tipward of from_base", "count from the base towards the tip", ("to_base",)
            )
        if self.bore is not None and (
            self.diameter is None or self.bore.value >= self.diameter.value
        ):
            raise InputError(
                "must be smaller than diameter, which must be given",
                "measure the outside and the hole of the item",
                ("bore",),
            )
        return self


class Coat(Table):
    """One coat on the outside, from the tip to the base unless it ends before."""

    do: Literal["fill", "prime", "paint", "clear"]
    per_side: Annotated[Film, Field(description="thickness once dry and sanded")]
    metallic: bool = Field(False, description="holds metal flakes: it may shut radio in")
    from_base: Length | None = Field(None, description="its baseward end, the base if left out")


class Bond(Table):
    """A coupler glued into the part, or onto its shoulder, by the name of its fit."""

    fit: Name
    adhesive: Name = Field(description="library name of the glue")
    length: Length | None = Field(None, description="of the glued stretch, the fit's if left out")
    gap: Film | None = Field(None, description="thickness of the glue, half the fit's clearance")


class Pins(Table):
    """Pins through the wall that hold a sliding fit until they are sheared, by its name."""

    fit: Name
    count: Annotated[int, Field(ge=1, le=24)]
    material: Name = Field(description="library name of what the pins are made of")
    thread: Thread | None = Field(None, description="of a screw that serves as a pin")
    diameter: Hole | None = Field(None, description="of a plain pin")
    edge: Annotated[Length, Field(description="from the middle of the holes to the part's end")]

    @model_validator(mode="after")
    def _screw_or_pin(self) -> Self:
        if (self.thread is None) == (self.diameter is None):
            raise InputError(
                "takes either a thread or a diameter",
                'give thread = "M2.5" of a screw, or diameter = "2 mm" of a plain pin',
                ("thread",),
            )
        return self

    @property
    def size(self) -> tuple[float, float]:
        """Diameter that bears on the hole, and pitch of the thread (0 of a plain pin), m."""
        if self.thread is not None:
            return THREADS[self.thread]
        return (self.diameter.value if self.diameter else 0.0), 0.0


class Vent(Table):
    """Holes that let the air out as it climbs."""

    diameter: Hole
    count: Annotated[int, Field(ge=1, le=24)] = 1
    volume: BoxSize | None = Field(None, description="air behind them, the part's bore if left out")


class Weighed(Table):
    """The bare part on the scale, trimmed, before any coat: tells fibre fraction and voids."""

    mass: Weight
    wall: MeasuredWall | None = Field(None, description="its thickness at from_base")
    from_base: Place = default("0 mm", "where the wall was measured")


class Assembly(Table):
    """The finished part: what is fixed to it and coated on it, how it is joined and vented."""

    items: tuple[Item, ...] = Field((), alias="item", strict=False)
    finish: tuple[Coat, ...] = Field((), strict=False)
    bond: Bond | None = None
    pins: Pins | None = None
    vent: Vent | None = None
    weighed: Weighed | None = None
