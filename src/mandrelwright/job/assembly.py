"""What is fixed to the part once it is off the mould, and what is coated on it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from mandrelwright.job.values import (
    Diameter,
    Film,
    InputError,
    Length,
    Name,
    Spot,
    Table,
    Weight,
)

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


class Assembly(Table):
    """The finished part: what is fixed to it and coated on it."""

    items: tuple[Item, ...] = Field((), alias="item", strict=False)
    finish: tuple[Coat, ...] = Field((), strict=False)
