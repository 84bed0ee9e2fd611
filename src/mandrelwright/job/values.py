"""The kinds of value a job file may hold, with their physical limits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, StringConstraints
from pydantic_core import core_schema

from mandrelwright.quantities import UNITS, Quantity, QuantityError, pattern, read

MOST_BYTES = 1_000_000  # of any text file that is read whole
READS = "x-reads"
"""Mark in a JSON Schema under which a measure says what may be written."""

Keys = tuple[str | int, ...]


_CORRECT = "correct the value or its unit"


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

    ``above`` excludes the lower limit itself; ``exact`` refuses a spread where the program
    could not honour one; ``word`` may be written instead.
    """

    kind: str
    least: str
    most: str
    above: bool = False
    exact: bool = False
    word: str | None = None

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(self.check)

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        text = {"type": "string", "pattern": pattern(self.kind, self.exact)}
        taken = text if self.word is None else {"anyOf": [{"const": self.word}, text]}
        return {**taken, READS: self.reads()}

    def reads(self) -> str:
        """What may be written, in words."""
        lower = "above" if self.above else "at least"
        word = f'"{self.word}" or ' if self.word else ""
        spread = "" if self.exact else '; "+- x" states one standard uncertainty'
        return (
            f"{word}{self.kind} in {', '.join(UNITS[self.kind])} ({lower} {self.least}, "
            f"at most {self.most}){spread}"
        )

    def check(self, text: object) -> Quantity | str:
        """The quantity or the word; pydantic calls this."""
        if isinstance(text, Quantity) or (text == self.word and isinstance(text, str)):
            return text
        return self.quantity(text)

    def quantity(self, text: object) -> Quantity:
        """The quantity, or an InputError that names the limit and the remedy."""
        if not isinstance(text, str):
            raise InputError("must be text with a unit", f"in quotation marks: {self.reads()}")
        try:
            quantity = read(text, self.kind)
        except QuantityError as error:
            word = f', or "{self.word}"' if self.word else ""
            raise InputError(error.reason, error.remedy + word) from None
        self._within_limits(quantity)
        return quantity

    def _within_limits(self, quantity: Quantity) -> None:
        value = quantity.value
        lower = read(self.least, self.kind).value
        if value < lower or (self.above and value == lower):
            word = "above" if self.above else "at least"
            raise InputError(f"must be {word} {self.least}", _CORRECT)
        if value > read(self.most, self.kind).value:
            raise InputError(f"must be at most {self.most}", _CORRECT)
        if self.exact and quantity.spread > 0.0:
            raise InputError("is taken as exact and may have no spread", 'leave out the "+- ..."')
        if (self.above or lower > 0.0) and quantity.spread > value / 2.0:
            raise InputError(
                "has a spread of more than half its value",
                "state one standard uncertainty, in the same unit",
            )


def _printable(text: str) -> str:
    if not text.isprintable():
        raise InputError("holds a character that cannot be printed", "type the name again")
    return text


Name = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=60),
    AfterValidator(_printable),
]

# Where a wanted size is stated, exactly
Length = Annotated[Quantity, Text("length", "0 mm", "5 m", above=True, exact=True)]
ArcRadius = Annotated[Quantity, Text("length", "0 mm", "100 m", above=True, exact=True)]
Place = Annotated[Quantity, Text("length", "0 mm", "5 m", exact=True)]
Diameter = Annotated[Quantity, Text("length", "4 mm", "1 m", exact=True)]
Hole = Annotated[Quantity, Text("length", "0 mm", "100 mm", above=True, exact=True)]
Gap = Annotated[Quantity, Text("length", "-3 mm", "3 mm", exact=True)]
PrintLine = Annotated[Quantity, Text("length", "0.02 mm", "3 mm", exact=True)]
BedSize = Annotated[Quantity, Text("length", "50 mm", "3 m", exact=True)]
Infill = Annotated[Quantity, Text("fraction", "0 %", "100 %", exact=True)]
Moment = Annotated[Quantity, Text("time", "0 s", "60 d", above=True, exact=True)]
Batch = Annotated[Quantity, Text("mass", "0 g", "5 kg", above=True, exact=True)]
ScaleStep = Annotated[Quantity, Text("mass", "0 g", "100 g", above=True, exact=True)]
Stock = Annotated[Quantity, Text("length", "0 m", "1000 m", exact=True)]
RoomSize = Annotated[Quantity, Text("volume", "1 m^3", "10000 m^3", exact=True)]
BoxSize = Annotated[Quantity, Text("volume", "0.1 L", "2 m^3", exact=True)]
Frequency = Annotated[Quantity, Text("frequency", "1 MHz", "100 GHz", exact=True)]
Speed = Annotated[Quantity, Text("speed", "0 m/s", "3000 m/s", above=True, exact=True)]
Humidity = Annotated[Quantity, Text("fraction", "1 %", "100 %", exact=True)]
HeatLoss = Annotated[Quantity, Text("heat loss", "0.01 W/K", "10 W/K", exact=True)]
Altitude = Annotated[Quantity, Text("length", "0 m", "100000 m", above=True, exact=True)]
RoomTemperature = Annotated[Quantity, Text("temperature", "0 degC", "50 degC", exact=True)]
AnyTemperature = Annotated[Quantity, Text("temperature", "-80 degC", "250 degC", exact=True)]
Bay = Annotated[Quantity, Text("length", "20 mm", "1 m", exact=True)]
DowelSize = Annotated[Quantity, Text("length", "3 mm", "100 mm", exact=True)]
DowelGap = Annotated[Quantity, Text("length", "0.05 mm", "1 mm", exact=True)]
SmallAngle = Annotated[Quantity, Text("angle", "0.5 deg", "15 deg", exact=True)]
WarpAngle = Annotated[Quantity, Text("angle", "0 deg", "90 deg", exact=True)]
ClothWidth = Annotated[Quantity, Text("length", "10 mm", "5 m", exact=True)]
Overhang = Annotated[Quantity, Text("angle", "20 deg", "70 deg", exact=True)]
Flow = Annotated[Quantity, Text("volume flow", "0.1 mm^3/s", "200 mm^3/s", exact=True)]
LengthPrice = Annotated[Quantity, Text("price per length", "0 EUR/m", "10000 EUR/m", exact=True)]
MassPrice = Annotated[Quantity, Text("price per mass", "0 EUR/kg", "10000 EUR/kg", exact=True)]
MixRatio = Annotated[
    Quantity, Text("mix ratio", "0 g per 100 g", "200 g per 100 g", above=True, exact=True)
]

# What was measured or is uncertain
Weight = Annotated[Quantity, Text("mass", "0 g", "100 kg", above=True)]
Since = Annotated[Quantity, Text("time", "0 h", "365 d", exact=True)]
TimeConstant = Annotated[Quantity, Text("time", "1 s", "7 d")]
Spot = Annotated[Quantity, Text("length", "-2 m", "5 m")]
MeasuredDiameter = Annotated[Quantity, Text("length", "4 mm", "1 m")]
TowWidth = Annotated[Quantity, Text("length", "0.05 mm", "20 mm")]
Film = Annotated[Quantity, Text("length", "0 mm", "1 mm")]
Removal = Annotated[Quantity, Text("length", "0 mm", "2 mm")]
Offset = Annotated[Quantity, Text("length", "-2 mm", "2 mm")]
Scatter = Annotated[Quantity, Text("length", "0 mm", "2 mm", exact=True)]
LinearDensity = Annotated[Quantity, Text("linear density", "5 tex", "20000 tex")]
ClothWeight = Annotated[Quantity, Text("areal weight", "10 g/m^2", "3000 g/m^2")]
SleeveMass = Annotated[Quantity, Text("mass per length", "0.5 g/m", "2 kg/m")]
FibreFraction = Annotated[Quantity, Text("fraction", "15 %", "75 %")]
Strain = Annotated[Quantity, Text("fraction", "0 %", "5 %")]
Shrink = Annotated[Quantity, Text("fraction", "-2 %", "5 %")]
Duration = Annotated[Quantity, Text("time", "0 s", "7 d", above=True)]
Kept = Annotated[Quantity, Text("fraction", "0 %", "100 %")]
ShopTemperature = Annotated[Quantity, Text("temperature", "0 degC", "50 degC")]
CureTemperature = Annotated[Quantity, Text("temperature", "0 degC", "200 degC")]
GlassTransition = Annotated[Quantity, Text("temperature", "20 degC", "300 degC")]
