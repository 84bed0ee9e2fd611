"""What the part meets once it is finished: hands, the sun, the flight, the ground."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, model_validator

from mandrelwright.job.values import (
    Altitude,
    InputError,
    Length,
    Moment,
    Speed,
    Table,
    Text,
    Weight,
    default,
)
from mandrelwright.quantities import UNITS, Quantity

Colour = Literal["black", "dark", "middle", "light", "white", "bare glass", "bare carbon"]
Acceleration = Annotated[Quantity, Text("acceleration", "0 m/s^2", "20000 m/s^2", exact=True)]
Force = Annotated[Quantity, Text("force", "0 N", "100 kN", exact=True)]
Overpressure = Annotated[Quantity, Text("pressure", "0 Pa", "2 MPa", exact=True)]
Incidence = Annotated[Quantity, Text("angle", "0 deg", "15 deg", exact=True)]
Sun = Annotated[Quantity, Text("irradiance", "0 W/m^2", "1400 W/m^2", exact=True)]
OpenAir = Annotated[Quantity, Text("temperature", "-40 degC", "60 degC", exact=True)]
Site = Annotated[Quantity, Text("length", "-430 m", "6000 m", exact=True)]
Wind = Annotated[Quantity, Text("speed", "0 m/s", "60 m/s", exact=True)]
Cord = Annotated[Quantity, Text("length", "1 mm", "100 mm")]
Wait = Annotated[Quantity, Text("time", "0 s", "60 s", exact=True)]

KINDS = {
    "time": "time",
    "speed": "speed",
    "altitude": "length",
    "acceleration": "acceleration",
    "angle_of_attack": "angle",
    "lateral": "acceleration",
}
"""Columns of a flight history and the kind of their unit."""


class Column(Table):
    """One column of the table: its name in the first line, and its unit."""

    column: Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=80)]
    unit: Annotated[str, StringConstraints(min_length=1, max_length=20)]


class History(Table):
    """A flight as numbers, logged or simulated: a CSV file beside the job, columns by name."""

    file: Annotated[str, StringConstraints(min_length=1, max_length=200)]
    time: Column
    speed: Column
    altitude: Annotated[Column, Field(description="above the site")]
    acceleration: Column | None = Field(
        None, description="along the rocket, speeding up positive; else from the speed"
    )
    angle_of_attack: Column | None = None
    lateral: Column | None = Field(None, description="acceleration across, at the part")

    @model_validator(mode="after")
    def _units_are_known(self) -> Self:
        for key, kind in KINDS.items():
            column: Column | None = getattr(self, key)
            if column is not None and column.unit not in UNITS[kind]:
                raise InputError(
                    f'"{column.unit}" is no unit of {kind}',
                    f"write one of {', '.join(UNITS[kind])}",
                    (key, "unit"),
                )
        return self


class Ahead(Table):
    """What sits tipwards of a part that is no nose: its own loads pass through the part."""

    mass: Weight
    length: Length


class Flight(Table):
    """The flight as an envelope or a history, the weather, and what handles and lands it."""

    top_speed: Speed | None = None
    altitude: Altitude | None = Field(None, description="top of the flight, above the site")
    burn: Moment | None = Field(None, description="from rest to top speed")
    hold: Wait = default("0 s", "how long top speed is held")
    history: History | None = None
    site_altitude: Site = default("0 m", "of the site, above the sea")
    temperature: OpenAir = default("20 degC", "of the air at the site")
    gust: Wind | None = Field(None, description="across the flight path")
    gust_altitude: Altitude | None = Field(
        None, description="above the site, on the way up; where it hurts most unless stated"
    )
    angle_of_attack: Incidence | None = Field(None, description="instead of a gust")
    lateral: Acceleration = default("0 m/s^2", "across, at the part, while it meets the gust")
    ahead: Ahead | None = None
    ejection_delay: Wait = default("0 s", "after the top of the flight")
    ejection_pressure: Overpressure | None = None
    zippering: Acceleration | None = Field(None, description="as the cord comes taut")
    cord: Cord | None = Field(None, description="its width where it crosses the open edge")
    landing: Acceleration | None = Field(None, description="as its tip meets the ground")
    handling: Force | None = Field(None, description="a hand across its tip")
    sun: Sun | None = Field(None, description="on a face that looks at it")
    wind: Wind | None = Field(None, description="while it stands in the sun")
    colour: Colour | None = None

    @model_validator(mode="after")
    def _one_flight(self) -> Self:
        if self.history is not None and self.top_speed is not None:
            raise InputError(
                "is told twice: by top_speed and by a history",
                "leave one of them out",
                ("history",),
            )
        if self.gust is not None and self.angle_of_attack is not None:
            raise InputError(
                "is told twice: by gust and as an angle", "leave one of them out", ("gust",)
            )
        return self
