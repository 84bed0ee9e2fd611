"""The part as drawn: sections from the tip, and the fits measured on its mates."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from mandrelwright.job.values import (
    ArcRadius,
    Diameter,
    Gap,
    Hole,
    InputError,
    Length,
    MeasuredDiameter,
    Name,
    Place,
    Table,
    default,
)
from mandrelwright.quantities import Quantity, show


class Tip(Table):
    """How a nose ends: pointed (neither is given), cut open, or blunted by a tangent sphere."""

    open: Diameter | None = Field(None, description="diameter of the square cut")
    blunt: Hole | None = Field(None, description="radius of the tangent sphere")

    @model_validator(mode="before")
    @classmethod
    def _read(cls, value: Any) -> Any:
        if value == "pointed":
            return {}
        if not isinstance(value, dict) or len(value) != 1:
            raise InputError(
                "must say one way the tip ends",
                'write "pointed", { open = "38 mm" } or { blunt = "5 mm" }',
            )
        return value

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: Any) -> Any:
        return word_or_table("pointed", handler(schema))


def word_or_table(word: str, table: dict[str, Any]) -> dict[str, Any]:
    """JSON Schema of a value that is one word or a table."""
    return {"anyOf": [{"const": word}, table]}


class _Section(Table):
    name: Name
    blend: Length = default("20 mm", "radius that rounds the corner before it")


class AnyNose(_Section):
    """What every nose states: length, base, tip."""

    shape: str
    length: Length = Field(description="of the full profile to its virtual point")
    base: Diameter = Field(description="diameter of the base")
    tip: Tip

    @property
    def parameter(self) -> float | None:
        """The one number some nose families take (a radius in m, a fullness, an exponent)."""
        return None

    @property
    def ends(self) -> tuple[float, float]:
        """Diameter at the tipward and at the baseward end, m."""
        return (self.tip.open.value if self.tip.open else 0.0), self.base.value

    @model_validator(mode="after")
    def _tip_inside_base(self) -> Self:
        base = show(self.base.value)
        if self.tip.open and self.tip.open.value >= self.base.value:
            raise InputError(
                f"must be smaller than the base, {base}", "cut nearer to the tip", ("tip", "open")
            )
        if self.tip.blunt and self.tip.blunt.value >= self.base.value / 2.0:
            raise InputError(
                f"must be below half of {base}", "use a smaller radius", ("tip", "blunt")
            )
        return self


class Nose(AnyNose):
    """A nose that needs no further number."""

    shape: Literal["cone", "tangent ogive", "ellipsoid", "von Karman"]


class SecantOgive(AnyNose):
    """An arc whose radius is chosen: flatter than the tangent one, or bulging."""

    shape: Literal["secant ogive"]
    ogive_radius: ArcRadius = Field(description="radius of the arc")

    @property
    def parameter(self) -> float:
        """Radius of the arc, m."""
        return self.ogive_radius.value

    @model_validator(mode="after")
    def _arc_reaches(self) -> Self:
        length, radius = self.length.value, self.base.value / 2.0
        least = (length**2 + radius**2) / (2.0 * length)
        if self.ogive_radius.value < least:
            raise InputError(
                f"must be at least {show(least)}, or the arc starts backwards",
                "use a larger radius",
                ("ogive_radius",),
            )
        return self


class Parabola(AnyNose):
    """Parabolic series: fullness 0 is a cone, 1 the full parabola."""

    shape: Literal["parabola"]
    fullness: float = Field(ge=0.0, le=1.0, description="0 (cone) to 1, a bare number")

    @property
    def parameter(self) -> float:
        """Fullness, 0 to 1."""
        return self.fullness


class Power(AnyNose):
    """Power series r = R (x/L)^exponent: 1 is a cone, 0.5 a parabola on its side."""

    shape: Literal["power"]
    exponent: float = Field(ge=0.25, le=1.0, description="0.25 to 1 (cone), a bare number")

    @property
    def parameter(self) -> float:
        """Exponent."""
        return self.exponent


class Haack(AnyNose):
    """Haack series: fullness 0 is the von Karman nose, 1/3 is LV-Haack, 2/3 tangent."""

    shape: Literal["Haack"]
    fullness: float = Field(ge=0.0, le=2.0 / 3.0, description="0 to 0.6666, a bare number")

    @property
    def parameter(self) -> float:
        """Fullness C, 0 to 2/3."""
        return self.fullness


class Cylinder(_Section):
    """A straight tube."""

    shape: Literal["cylinder"]
    length: Length
    diameter: Diameter

    @property
    def ends(self) -> tuple[float, float]:
        """Diameter at the tipward and at the baseward end, m."""
        return self.diameter.value, self.diameter.value


class Transition(_Section):
    """A cone frustum; narrowing towards the base it is a boat tail."""

    shape: Literal["transition"]
    length: Length
    front: Diameter = Field(description="diameter at the tipward end")
    back: Diameter = Field(description="diameter at the baseward end")

    @property
    def ends(self) -> tuple[float, float]:
        """Diameter at the tipward and at the baseward end, m."""
        return self.front.value, self.back.value


class Measured(_Section):
    """A profile taken from a real part: rows of (x from its own front, diameter)."""

    shape: Literal["measured"]
    table: Annotated[
        tuple[Annotated[tuple[Place, Place], Field(strict=False)], ...],
        Field(strict=False, min_length=4, max_length=500),
    ]

    @property
    def length(self) -> Quantity:
        """x of the last row, m."""
        return self.table[-1][0]

    @property
    def ends(self) -> tuple[float, float]:
        """Diameter at the tipward and at the baseward end, m."""
        return self.table[0][1].value, self.table[-1][1].value

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        x = [row[0].value for row in self.table]
        if x[0] != 0.0:
            raise InputError(
                "must start at 0 mm", "measure x from the section's own front", ("table", 0, 0)
            )
        for number, (before, after) in enumerate(pairwise(x), start=1):
            if after <= before:
                raise InputError(
                    f"must be beyond the row before, {show(before)}",
                    "put the rows in order, each place once",
                    ("table", number, 0),
                )
            if self.table[number][1].value == 0.0:
                raise InputError(
                    "must be above 0 mm", "only the tip has no width", ("table", number, 1)
                )
        return self


Section = Annotated[
    Nose | SecantOgive | Parabola | Power | Haack | Cylinder | Transition | Measured,
    Field(discriminator="shape"),
]


class Clearance(Table):
    """Play on diameter between a fit and its mate."""

    least: Gap
    wanted: Gap
    most: Gap

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _window(self.least, self.wanted, self.most)
        return self


class Step(Table):
    """How far the part stands proud of its mate, per side; negative is below."""

    least: Gap
    wanted: Gap | None = None
    most: Gap

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        _window(self.least, self.wanted, self.most)
        return self


def _window(least: Quantity, wanted: Quantity | None, most: Quantity) -> None:
    """Refuse a window that is empty or misses what is wanted."""
    if least.value >= most.value:
        raise InputError(f"must be below most, {show(most.value)}", "correct one", ("least",))
    if wanted and not least.value <= wanted.value <= most.value:
        raise InputError(
            f"must lie within {show(least.value)} to {show(most.value)}",
            "correct it or widen the window",
            ("wanted",),
        )


class _Fit(Table):
    name: Name
    mates: MeasuredDiameter = Field(description="diameter of the mate, as measured")
    from_base: Place = Field(description="where the fit begins, counted from the base")
    to_base: Length = Field(description="where the fit ends, counted from the base")
    leads: bool = Field(False, description="this fit sets the mould")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.from_base.value >= self.to_base.value:
            raise InputError(
                f"must be below to_base, {show(self.to_base.value)}",
                "both count from the base towards the tip",
                ("from_base",),
            )
        return self


class Bore(_Fit):
    """A hole that slides over its mate."""

    kind: Literal["bore"]
    clearance: Clearance


class Shoulder(_Fit):
    """A spigot that goes into its mate."""

    kind: Literal["shoulder"]
    clearance: Clearance


class Flush(_Fit):
    """An outside that sits level with its mate."""

    kind: Literal["flush"]
    step: Step
    finish: Literal["sand", "fill", "none"] = Field("sand", description="what may even it out")

    @model_validator(mode="after")
    def _lead_has_an_aim(self) -> Self:
        if self.leads and self.step.wanted is None:
            raise InputError(
                "needs a wanted step, because this fit leads", 'add wanted = "0.00 mm"', ("step",)
            )
        return self


Fit = Annotated[Bore | Shoulder | Flush, Field(discriminator="kind")]
