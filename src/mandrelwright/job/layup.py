"""What is laid on the mould: sleeves and cloths on the shelf, layers, resin, stated results."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, ConfigDict, Field, model_validator

from mandrelwright.job.values import (
    AnyTemperature,
    Batch,
    ClothWeight,
    ClothWidth,
    CureTemperature,
    Diameter,
    Duration,
    FibreFraction,
    GlassTransition,
    HeatLoss,
    InputError,
    Kept,
    Length,
    LengthPrice,
    LinearDensity,
    MassPrice,
    MeasuredDiameter,
    MixRatio,
    Name,
    Place,
    SleeveMass,
    Stock,
    Strain,
    Table,
    TowWidth,
    WarpAngle,
    default,
)
from mandrelwright.quantities import show

Tows = Annotated[
    int, Field(ge=8, le=2000, multiple_of=2, description="all tows, both families together")
]


MOST_GORES = 24
OF_CLOTH = ("angle", "overlap", "turns", "gores")


class Weighed(Table):
    """A sleeve known from the scale: the mass of a metre at a measured diameter."""

    mass_per_length: SleeveMass
    diameter: MeasuredDiameter
    tows: Tows


class Sleeve(Table):
    """A sleeve on the shelf, known in exactly one of three ways: label, scale or library."""

    name: Name
    fibre: Name | None = Field(None, description="library name of the fibre")
    tows: Tows | None = None
    tow: LinearDensity | None = Field(None, description="linear density of one tow")
    diameter_at_45: MeasuredDiameter | None = Field(
        None, description="diameter at which its tows cross at 45 degrees to the axis"
    )
    weighed: Weighed | None = None
    library: Name | None = Field(None, description="name of a generic sleeve of the library")
    narrowest_tow: TowWidth | None = Field(
        None, description="width of a tow when pushed together as far as it goes"
    )
    price: LengthPrice | None = None
    on_shelf: Stock | None = Field(None, description="length you have, at its label angle")

    @property
    def way(self) -> Literal["label", "weighed", "library"]:
        """How the sleeve is known."""
        if self.library is not None:
            return "library"
        return "weighed" if self.weighed is not None else "label"

    @model_validator(mode="after")
    def _known_in_one_way(self) -> Self:
        needed = {
            "library": ("library",),
            "weighed": ("weighed", "fibre", "diameter_at_45"),
            "label": ("tows", "tow", "fibre", "diameter_at_45"),
        }[self.way]
        ways = ("fibre", "tows", "tow", "diameter_at_45", "weighed", "library")
        for key in ways:
            if key in needed and getattr(self, key) is None:
                raise InputError("is missing", _WAYS, (key,))
            if key not in needed and getattr(self, key) is not None:
                raise InputError(
                    f"contradicts {self.way}: a sleeve is known in one way",
                    f"leave it out, or {_WAYS}",
                    (key,),
                )
        return self

    @model_validator(mode="after")
    def _weighed_where_it_opens(self) -> Self:
        if self.weighed and self.diameter_at_45:
            most = math.sqrt(2.0) * self.diameter_at_45.value
            if self.weighed.diameter.value >= most:
                raise InputError(
                    f"must be below {show(most)}, where the tows lie round the sleeve",
                    "measure the diameter at which the metre was weighed again",
                    ("weighed", "diameter"),
                )
        return self


_WAYS = (
    "give fibre, tows, tow, diameter_at_45 (label), or fibre, diameter_at_45, weighed = "
    "{ mass_per_length, diameter, tows } (scale), or library alone"
)


class Cloth(Table):
    """A woven cloth on the roll, the same in warp and weft."""

    name: Name
    fibre: Name = Field(description="library name of the fibre")
    areal_weight: ClothWeight = Field(description="of the dry cloth")
    width: ClothWidth = default("1 m", "of the roll, between its selvedges")
    price: LengthPrice | None = None
    on_shelf: Stock | None = Field(None, description="length you have, at full width")


class Position(Table):
    """A place along the part; when neither is given it is the part's own end."""

    model_config = ConfigDict(
        json_schema_extra=lambda schema: schema["properties"].pop("from_base")
    )

    from_base: Place | None = Field(None, description="counted from the base towards the tip")
    diameter: Diameter | None = Field(None, description="where the drawn surface has it")


def _position(word: str) -> BeforeValidator:
    """Reads "120 mm" (from the base), { diameter = "62 mm" } or the part's own end, ``word``."""

    def read(value: Any) -> Any:
        if isinstance(value, str) and (value == word or value[:1] in "+-.0123456789"):
            return {} if value == word else {"from_base": value}
        if isinstance(value, Position) or (isinstance(value, dict) and list(value) == ["diameter"]):
            return value
        raise InputError(
            "is not a position",
            f'write "{word}", "120 mm" (from the base) or '
            '{ diameter = "62 mm" } (of the drawn surface)',
        )

    return BeforeValidator(read, json_schema_input_type=Literal[word] | Place | Position)


class Layer(Table):
    """A length of sleeve or a piece of cloth, from its tipward to its baseward end."""

    sleeve: Name | None = None
    cloth: Name | None = None
    start: Annotated[Position, _position("tip")] = Field(alias="from")
    stop: Annotated[Position, _position("end")] = Field(alias="to")
    repeat: int = Field(1, ge=1, le=30)
    stagger: Place = default("10 mm", "each repeat ends this much shorter at every inner end")
    rebate: bool = Field(False, description="the mould makes room for the layer's end")
    ramp: Length | None = Field(None, description="length of the rebate's ramp; else 1:20")
    angle: WarpAngle = default("45 deg", "of the cloth's warp from the part's axis")
    overlap: Place = default("15 mm", "by which a cloth's edge lies over its other edge")
    turns: int = Field(1, ge=1, le=20, description="times that one piece of cloth goes round")
    gores: int = Field(
        6, ge=3, le=MOST_GORES, description="pieces round the part where it curves both ways"
    )

    @model_validator(mode="after")
    def _sleeve_or_cloth(self) -> Self:
        if self.sleeve is None and self.cloth is None:
            raise InputError(
                "is missing", "name a [[sleeve]], or a [[cloth]] as cloth", ("sleeve",)
            )
        if self.sleeve is not None:
            for key in ("cloth", *OF_CLOTH):
                if key in self.model_fields_set:
                    raise InputError(
                        "contradicts sleeve: a layer is a sleeve or a cloth",
                        "leave out one of them; angle, overlap, turns and gores belong to cloth",
                        (key,),
                    )
        return self

    @model_validator(mode="after")
    def _runs_from_tip_to_base(self) -> Self:
        start, stop = self.start.from_base, self.stop.from_base
        if start and stop and start.value <= stop.value:
            raise InputError(
                f"must be further from the base than to, {show(stop.value)}",
                "from is the tipward end, to the baseward end",
                ("from",),
            )
        if self.ramp and not self.rebate:
            raise InputError("belongs to a rebate", "set rebate = true or leave it out", ("ramp",))
        return self


class Stated(Table):
    """Overrides of what later steps compute."""

    set_temperature: CureTemperature | None = None
    glass_transition: GlassTransition | None = None
    cure_strain: Strain | None = Field(
        None, description="free linear shrinkage of the resin after gel"
    )
    share_kept: Kept | None = Field(
        None, description="share of it that does not relax on the mould"
    )


class Compaction(Table):
    """How the wet layers are squeezed."""

    method: Name
    fibre_fraction: FibreFraction | None = None


class PotLife(Table):
    """How long a cup lasts, with its mass and temperature."""

    time: Duration
    mass: Batch
    at: AnyTemperature
    ends: AnyTemperature | None = Field(
        None, description="temperature of the cup at which it counts as ended"
    )
    loss: HeatLoss | None = Field(None, description="heat that the cup loses per kelvin")

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.ends is None) != (self.loss is None):
            raise InputError(
                "is missing: a cup tells the rate only with both ends and loss",
                'give ends = "50 degC" and loss = "0.16 W/K", or neither',
                ("loss" if self.loss is None else "ends",),
            )
        if self.ends is not None and self.ends.value <= self.at.value:
            raise InputError(
                f"must be above at, {show(self.at.value, 'degC', 0)}",
                "write the temperature at which the data sheet ends the cup",
                ("ends",),
            )
        return self


class Timed(Table):
    """When a thin film gets so far, and at what temperature."""

    time: Duration
    at: CureTemperature


class Resin(Table):
    """The resin system."""

    name: Name
    pot_life: PotLife | None = None
    gel: Timed | None = Field(None, description="gel time of a thin film")
    demould: Timed | None = Field(None, description="time until it can be demoulded")
    hardener: MixRatio | None = None
    price: MassPrice | None = Field(None, description="of resin and hardener together")

    @model_validator(mode="after")
    def _timed_in_one_way(self) -> Self:
        if self.gel is not None and self.demould is not None:
            raise InputError(
                "contradicts gel: one of them sets the rate",
                "keep gel, which is the sharper of the two",
                ("demould",),
            )
        return self
