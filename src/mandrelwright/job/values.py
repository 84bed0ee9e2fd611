"""The kinds of value a job file may hold, with their physical limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, StringConstraints
from pydantic_core import core_schema

from mandrelwright.quantities import UNITS, Quantity, QuantityError, pattern, read

Keys = tuple[str | int, ...]


class InputError(ValueError):
    """An input that is refused: the limit it breaks, the remedy, and where (keys from here)."""

    def __init__(self, limit: str, remedy: str, at: Keys = ()) -> None:
        super().__init__(f"{limit}: {remedy}")
        self.limit = limit
        self.remedy = remedy
        self.at = at


def default(value: object, description: str | None = None) -> Any:
    """A field that may be left out, with the text that then stands for it."""
    return Field(default=value, description=description)


class Table(BaseModel):
    """A table of the job file: no unknown keys, no silent conversion, never changed."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True
    )


@dataclass(frozen=True)
class Text:
    """Annotation of a Quantity written as text: its kind, and limits as text in a unit.

    ``exact`` refuses a spread where the program could not honour one; ``word`` may be
    written instead.
    """

    kind: str
    above: str | None = None
    least: str | None = None
    most: str | None = None
    exact: bool = False
    word: str | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        text = {"type": "string", "pattern": pattern(self.kind, self.exact)}
        taken = text if self.word is None else {"anyOf": [{"const": self.word}, text]}
        return {**taken, "description": self.reads()}

    def reads(self) -> str:
        """What may be written, in words."""
        limits = [
            f"{word} {limit}"
            for word, limit in (("above", self.above), ("at least", self.least),
                                ("at most", self.most))
            if limit is not None
        ]
        word = f'"{self.word}" or ' if self.word else ""
        within = f" ({', '.join(limits)})" if limits else ""
        spread = "" if self.exact else '; "+- x" states one standard uncertainty'
        return f"{word}{self.kind} in {', '.join(UNITS[self.kind])}{within}{spread}"

    def check(self, text: object) -> Quantity | str:
        """The quantity, or an InputError that names the limit and the remedy."""
        if isinstance(text, Quantity) or (text == self.word and isinstance(text, str)):
            return text
        if not isinstance(text, str):
            raise InputError("must be text with a unit", f"in quotation marks: {self.reads()}")
        try:
            quantity = read(text, self.kind)
        except QuantityError as error:
            raise InputError(error.reason, error.remedy) from None
        self._within_limits(quantity)
        return quantity

    def _within_limits(self, quantity: Quantity) -> None:
        value = quantity.value
        if self.above is not None and value <= read(self.above, self.kind).value:
            raise InputError(f"must be above {self.above}", "correct the value or its unit")
        if self.least is not None and value < read(self.least, self.kind).value:
            raise InputError(f"must be at least {self.least}", "correct the value or its unit")
        if self.most is not None and value > read(self.most, self.kind).value:
            raise InputError(f"must be at most {self.most}", "correct the value or its unit")
        if self.exact and quantity.spread > 0.0:
            raise InputError("is taken as exact and may have no spread", 'leave out the "+- ..."')
        if self.above is not None and quantity.spread >= value:
            raise InputError("has a spread as large as its value", "state one standard uncertainty")


Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=60,
                           pattern=r"^[^\x00-\x1f\x7f]*$")
]

# Where a wanted size is stated, exactly
Length = Annotated[Quantity, Text("length", above="0 mm", most="5 m", exact=True)]
Place = Annotated[Quantity, Text("length", least="0 mm", most="5 m", exact=True)]
Diameter = Annotated[Quantity, Text("length", least="4 mm", most="1 m", exact=True)]
Hole = Annotated[Quantity, Text("length", above="0 mm", most="100 mm", exact=True)]
Gap = Annotated[Quantity, Text("length", least="-3 mm", most="3 mm", exact=True)]
PrintLine = Annotated[Quantity, Text("length", least="0.02 mm", most="3 mm", exact=True)]
BedSize = Annotated[Quantity, Text("length", least="50 mm", most="3 m", exact=True)]
Infill = Annotated[Quantity, Text("fraction", least="0 %", most="100 %", exact=True)]
Moment = Annotated[Quantity, Text("time", above="0 s", most="60 d", exact=True)]
Batch = Annotated[Quantity, Text("mass", above="0 g", most="5 kg", exact=True)]
Frequency = Annotated[Quantity, Text("frequency", least="1 MHz", most="100 GHz", exact=True)]
Speed = Annotated[Quantity, Text("speed", above="0 m/s", most="3000 m/s", exact=True)]
Altitude = Annotated[Quantity, Text("length", above="0 m", most="100000 m", exact=True)]
RoomTemperature = Annotated[Quantity, Text("temperature", least="0 degC", most="50 degC",
                                           exact=True)]
AnyTemperature = Annotated[Quantity, Text("temperature", least="-80 degC", most="250 degC",
                                          exact=True)]
MixRatio = Annotated[Quantity, Text("mix ratio", above="0 g per 100 g", most="200 g per 100 g",
                                    exact=True)]

# What was measured or is uncertain
MeasuredDiameter = Annotated[Quantity, Text("length", least="4 mm", most="1 m")]
TowWidth = Annotated[Quantity, Text("length", least="0.05 mm", most="20 mm")]
Film = Annotated[Quantity, Text("length", least="0 mm", most="1 mm")]
Removal = Annotated[Quantity, Text("length", least="0 mm", most="2 mm")]
Offset = Annotated[Quantity, Text("length", least="-2 mm", most="2 mm")]
Scatter = Annotated[Quantity, Text("length", least="0 mm", most="2 mm", exact=True)]
LinearDensity = Annotated[Quantity, Text("linear density", least="5 tex", most="20000 tex")]
SleeveMass = Annotated[Quantity, Text("mass per length", least="0.5 g/m", most="2 kg/m")]
FibreFraction = Annotated[Quantity, Text("fraction", least="15 %", most="75 %")]
Strain = Annotated[Quantity, Text("fraction", least="0 %", most="5 %")]
Shrink = Annotated[Quantity, Text("fraction", least="-2 %", most="5 %")]
Duration = Annotated[Quantity, Text("time", above="0 s", most="7 d")]
ShopTemperature = Annotated[Quantity, Text("temperature", least="0 degC", most="50 degC")]
CureTemperature = Annotated[Quantity, Text("temperature", least="0 degC", most="200 degC")]
GlassTransition = Annotated[Quantity, Text("temperature", least="20 degC", most="300 degC")]
