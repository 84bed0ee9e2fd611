"""The days after the lay-up: stays of the cure schedule, and whether they follow each other."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from mandrelwright.job.values import InputError, Moment, Table, Text
from mandrelwright.quantities import ICE_POINT, Quantity, celsius

Medium = Literal["air", "oven", "hot box", "freezer", "water"]
OFF = "off the mould"


class Stay(Table):
    """One stay of the cure schedule: how long, how warm, in what, on the mould or off it."""

    stay: Moment
    at: Annotated[
        Quantity | Literal["shop"],
        Text("temperature", "-80 degC", "250 degC", exact=True, word="shop"),
    ]
    medium: Medium | None = Field(
        None, alias="in", description="what surrounds the part; air, or an oven when warmer"
    )
    part: Literal["on the mould", "off the mould"] = "on the mould"

    def kelvin(self, shop: float) -> float:
        """Temperature of the stay where the shop has this one (K)."""
        return shop if isinstance(self.at, str) else self.at.value

    def surroundings(self, shop: float) -> Medium:
        """What is stated; else air, or an oven where it is warmer than the shop."""
        return self.medium or ("oven" if self.kelvin(shop) > shop else "air")


def schedule_errors(
    schedule: tuple[Stay, ...], shop: float, key: str = "schedule"
) -> Iterator[InputError]:
    """Heated boxes below the shop (K), freezers above freezing, a part put back on its mould."""
    taken_off = False
    for number, stay in enumerate(schedule):
        warm = stay.kelvin(shop)
        if stay.medium in ("oven", "hot box") and warm < shop:
            yield InputError(
                f"is below the shop, {celsius(shop)}, and {stay.medium} can only heat",
                'set it warmer, or write in = "air"',
                (key, number, "at"),
            )
        if stay.medium == "freezer" and warm > ICE_POINT:
            yield InputError(
                "is above freezing in a freezer",
                'write what its thermometer reads, at = "-18 degC", or in = "air"',
                (key, number, "at"),
            )
        if taken_off and stay.part != OFF:
            yield InputError(
                "puts the part back on a mould that it has left",
                f'put the stays in their order, or write part = "{OFF}" from there on',
                (key, number, "part"),
            )
        taken_off = taken_off or stay.part == OFF
        if taken_off and key != "schedule":
            yield InputError(
                "is off the mould, which these steps are to bring about",
                "leave out part: it comes off in the last of them",
                (key, number, "part"),
            )
