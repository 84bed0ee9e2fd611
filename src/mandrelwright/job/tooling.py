"""What the layers are laid on: mould, printer, surface treatments, release system."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from mandrelwright.job.sections import word_or_table
from mandrelwright.job.values import (
    BedSize,
    Diameter,
    Film,
    Hole,
    Infill,
    InputError,
    MeasuredDiameter,
    Moment,
    Name,
    Offset,
    Place,
    PrintLine,
    Removal,
    Scatter,
    Shrink,
    Table,
    default,
)
from mandrelwright.quantities import show


class Core(Table):
    """What the mould is inside: solid (nothing given), walls and infill, or a hollow wall."""

    walls: int | None = Field(None, ge=1, le=50)
    infill: Infill | None = None
    hollow: Hole | None = Field(None, description="thickness of the wall")

    @model_validator(mode="before")
    @classmethod
    def _read(cls, value: Any) -> Any:
        if value == "solid":
            return {}
        if not isinstance(value, dict) or set(value) not in ({"hollow"}, {"walls", "infill"}):
            raise InputError(
                "must say one way the mould is filled",
                'write "solid", { walls = 4, infill = "15 %" } or { hollow = "4 mm" }',
            )
        return value

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: Any) -> Any:
        return word_or_table("solid", handler(schema))


class BeyondTrim(Table):
    """How far the mould runs past the trim lines."""

    tip: Place = default("25 mm")
    base: Place = default("15 mm")


class Flange(Table):
    """A collar at the mould's base."""

    diameter: Diameter
    thickness: Hole


class Mould(Table):
    """The printed mould."""

    plastic: Name
    core: Core = default({"walls": 4, "infill": "15 %"})
    beyond_trim: BeyondTrim = default({})
    flange: Flange | None = None
    pull_rod: Hole | None = Field(None, description="diameter of an axial hole right through")
    vent: Hole | None = Field(None, description="diameter of the air hole to the tip")
    leaves: Literal["tipwards", "basewards"] = Field(
        "tipwards", description="which way the part comes off"
    )


class PrinterShrink(Table):
    """How much smaller a print is than its file."""

    across: Shrink
    up: Shrink


class Ring(Table):
    """A ring printed to learn from: outside diameter in the file and as measured."""

    file: Diameter
    reads: MeasuredDiameter

    @model_validator(mode="after")
    def _near_its_file(self) -> Self:
        if abs(self.reads.value / self.file.value - 1.0) > 0.05:
            raise InputError(
                f"must be within 5 % of its file, {show(self.file.value)}",
                "look for a slip of the pen, or measure again",
                ("reads",),
            )
        return self


class Printer(Table):
    """The printer and what is known of its errors."""

    bed: Annotated[tuple[BedSize, BedSize], Field(strict=False)]
    height: BedSize
    layer: PrintLine = default("0.20 mm", "layer height")
    line: PrintLine = default("0.45 mm", "line width")
    shrink: PrinterShrink | None = None
    offset: Offset | None = Field(
        None, description="printed minus intended outside diameter; positive prints larger"
    )
    diameter_scatter: Scatter | None = Field(None, description="from one print to the next")
    rings: tuple[Ring, ...] = Field((), alias="ring", strict=False)


class Sand(Table):
    """Take plastic off with paper."""

    do: Literal["sand"]
    off: Removal = Field(description="per side")


class Smooth(Table):
    """Let solvent vapour level the skin."""

    do: Literal["smooth"]
    agent: Name = Field(alias="with")
    time: Moment
    loss: Removal | None = Field(None, description="on diameter, from a coupon")


class Fill(Table):
    """Coat with filler or primer."""

    do: Literal["fill"]
    adds: Removal = Field(description="per side")


class Wax(Table):
    """Wax and polish."""

    do: Literal["wax"]
    coats: int = Field(ge=1, le=30)


Treatment = Annotated[Sand | Smooth | Fill | Wax, Field(discriminator="do")]


class Release(Table):
    """What keeps the part from sticking."""

    system: Name
    film: Film | None = Field(None, description="thickness of one film")
