"""What the layers are laid on: mould, printer, surface treatments, release system."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, StringConstraints, Tag, model_validator

from mandrelwright.job.sections import word_or_table
from mandrelwright.job.values import (
    Bay,
    BedSize,
    Diameter,
    DowelGap,
    DowelSize,
    Film,
    Flow,
    Hole,
    Infill,
    InputError,
    Length,
    MassPrice,
    MeasuredDiameter,
    Moment,
    Name,
    Offset,
    Overhang,
    Place,
    PrintLine,
    Removal,
    Scatter,
    Shrink,
    Since,
    SmallAngle,
    Table,
    TimeConstant,
    Weight,
    default,
)
from mandrelwright.quantities import show

MOST_LOST = 0.10  # share of a mould's weight between two weighings
Thread = Literal["M3", "M4", "M5", "M6", "M8", "M10", "M12"]
SplitAt = Annotated[
    Annotated[Literal["auto"], Tag("word")]
    | Annotated[tuple[Place, ...], Field(strict=False), Tag("list")],
    Discriminator(lambda value: "word" if isinstance(value, str) else "list"),
]


class Core(Table):
    """What the mould is inside: solid (nothing given), walls and infill, or a hollow wall."""

    walls: int | None = Field(None, ge=1, le=50)
    infill: Infill | None = None
    hollow: Hole | None = Field(None, description="thickness of the wall")
    diaphragm: Hole = default("4 mm", "hollow: thickness of the cones that brace the wall")
    bay: Bay = default("60 mm", "hollow: one diaphragm to the next")

    @model_validator(mode="before")
    @classmethod
    def _read(cls, value: Any) -> Any:
        if value == "solid":
            return {}
        keys = set(value) if isinstance(value, dict) else set()
        braced = "hollow" in keys and keys <= {"hollow", "diaphragm", "bay"}
        if keys != {"walls", "infill"} and not braced:
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
    push_off_screws: int | None = Field(
        None, ge=2, le=12, description="threaded holes for screws that push the part off"
    )
    thread: Thread = "M6"


class Dowels(Table):
    """Tapered pins, printed on one segment, that find their sockets in the next."""

    count: int = Field(3, ge=2, le=12)
    diameter: DowelSize = default("10 mm", "at the root")
    taper: SmallAngle = default("3 deg", "of the side, from the pin's axis")
    gap: DowelGap = default("0.15 mm", "between pin and socket, square to the side")


class Mould(Table):
    """The printed mould."""

    plastic: Name
    core: Core = default({"walls": 4, "infill": "15 %"})
    beyond_trim: BeyondTrim = default({})
    flange: Flange | None = None
    split_at: SplitAt = Field("auto", description="where the print is cut, from the base")
    dowels: Dowels = default({})
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
    flow: Flow = default("8 mm^3/s", "plastic laid in a second, on average")
    steepest: Overhang = default("45 deg", "most overhang, from vertical, printed unsupported")
    plastic_price: MassPrice | None = None
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
    loss: Removal | None = Field(None, description="on diameter, as rings told")
    coupon: Annotated[str, StringConstraints(min_length=1, max_length=200)] | None = Field(
        None, description="CSV file of smoothed rings, beside the job: minutes, before, after"
    )
    time_constant: TimeConstant | None = Field(
        None, description="in which the layer lines level to a third"
    )
    dries: Moment | None = Field(None, description="until whatever comes next")
    weighings: (
        Annotated[
            tuple[Annotated[tuple[Since, Weight], Field(strict=False)], ...],
            Field(strict=False, min_length=2, max_length=500),
        ]
        | None
    ) = Field(None, description="time since it left the vapour, and what it weighed")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.loss is not None and self.coupon is not None:
            raise InputError("is told by the coupon too", "keep loss or coupon", ("loss",))
        for number, (before, after) in enumerate(pairwise(self.weighings or ()), start=1):
            if after[0].value <= before[0].value:
                raise InputError(
                    "must come after the weighing before it",
                    "sort the weighings by time since the mould left the vapour",
                    ("weighings", number, 0),
                )
            if abs(after[1].value / before[1].value - 1.0) > MOST_LOST:
                raise InputError(
                    f"differs by more than {MOST_LOST * 100:.0f} % from the weighing before it",
                    "look for a slip of the pen",
                    ("weighings", number, 1),
                )
        return self


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
    film: Film | None = Field(
        None, description="thickness of one film; of a sleeve before it stretches"
    )
    wraps: int = Field(1, ge=1, le=20, description="films that lie over each other")
    width: Length | None = Field(None, description="of the strips in which a film is laid")
    stretched_from: Diameter | None = Field(
        None, description="of a release sleeve before it is pulled over the mould"
    )
