"""Text with a unit to SI and back: the only place that knows units.

Grammar: ``number unit [+- number [unit]]``.  The number is decimal, or an inch fraction such
as ``3 7/8 in``; the unit comes from a closed table; the spread is one standard uncertainty,
absolute, in its own unit or in that of the value.  Nothing is guessed: text that does not fit
is refused with a reason and a remedy.

Sources of the factors: BIPM, The International System of Units (SI), 9th edition; NIST Special
Publication 811 (2008), appendix B.8 (inch, yard, pound, ounce, psi, denier, tex), from memory.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple

INCH = Fraction("0.0254")
POUND = Fraction("0.45359237")
GRAVITY = Fraction("9.80665")
PSI = POUND * GRAVITY / INCH**2
YARD = 36 * INCH

UNITS: dict[str, dict[str, Fraction]] = {
    "length": {
        "mm": Fraction(1, 1000),
        "cm": Fraction(1, 100),
        "m": Fraction(1),
        "um": Fraction(1, 10**6),
        "in": INCH,
        "thou": INCH / 1000,
        "ft": 12 * INCH,
    },
    "temperature": {"degC": Fraction(1), "K": Fraction(1), "degF": Fraction(5, 9)},
    "mass": {
        "g": Fraction(1, 1000),
        "kg": Fraction(1),
        "oz": POUND / 16,
        "lb": POUND,
    },
    "fraction": {"%": Fraction(1, 100), "ppm": Fraction(1, 10**6)},
    "ratio": {"": Fraction(1)},
    "mix ratio": {"g per 100 g": Fraction(1, 100)},
    "angle": {"deg": Fraction(math.pi) / 180, "rad": Fraction(1)},
    "mass per length": {
        "tex": Fraction(1, 10**6),
        "dtex": Fraction(1, 10**7),
        "g/km": Fraction(1, 10**6),
        "denier": Fraction(1, 9 * 10**6),
        "g/m": Fraction(1, 1000),
        "kg/m": Fraction(1),
        "oz/yd": POUND / 16 / YARD,
        "oz/ft": POUND / 192 / INCH,
    },
    "areal weight": {
        "g/m^2": Fraction(1, 1000),
        "kg/m^2": Fraction(1),
        "oz/yd^2": POUND / 16 / YARD**2,
    },
    "density": {"g/cm^3": Fraction(1000), "kg/m^3": Fraction(1), "lb/in^3": POUND / INCH**3},
    "pressure": {
        "Pa": Fraction(1),
        "kPa": Fraction(1000),
        "MPa": Fraction(10**6),
        "GPa": Fraction(10**9),
        "bar": Fraction(10**5),
        "mbar": Fraction(100),
        "psi": PSI,
        "ksi": 1000 * PSI,
    },
    "time": {"s": Fraction(1), "min": Fraction(60), "h": Fraction(3600), "d": Fraction(86400)},
    "frequency": {
        "Hz": Fraction(1),
        "kHz": Fraction(1000),
        "MHz": Fraction(10**6),
        "GHz": Fraction(10**9),
    },
    "acceleration": {"m/s^2": Fraction(1), "g": GRAVITY, "ft/s^2": 12 * INCH},
    "force": {"N": Fraction(1), "kN": Fraction(1000), "lbf": POUND * GRAVITY},
    "heat per volume": {"MJ/(m^3 K)": Fraction(10**6)},
    "irradiance": {"W/m^2": Fraction(1)},
    "speed": {"m/s": Fraction(1), "km/h": Fraction(10, 36), "ft/s": 12 * INCH},
    "creep": {"mm/h": Fraction(1, 3_600_000)},
    "volume": {
        "m^3": Fraction(1),
        "L": Fraction(1, 1000),
        "mL": Fraction(1, 10**6),
        "cm^3": Fraction(1, 10**6),
    },
    "molar mass": {"g/mol": Fraction(1, 1000)},
    "diffusivity": {"m^2/s": Fraction(1)},
    "weight loss": {"%/d": Fraction(1, 100 * 86400)},
    "volume flow": {"mm^3/s": Fraction(1, 10**9), "cm^3/h": Fraction(1, 3600 * 10**6)},
    "price per mass": {"EUR/kg": Fraction(1), "GBP/kg": Fraction(1), "USD/kg": Fraction(1)},
    "expansion": {"1/K": Fraction(1), "/K": Fraction(1), "ppm/K": Fraction(1, 10**6)},
    "conductivity": {"W/(m K)": Fraction(1)},
    "electrical conductivity": {"S/m": Fraction(1)},
    "specific heat": {"J/(kg K)": Fraction(1), "kJ/(kg K)": Fraction(1000)},
    "viscosity": {"mPa s": Fraction(1, 1000), "Pa s": Fraction(1)},
    "heat loss": {"W/K": Fraction(1)},
    "temperature difference": {"K": Fraction(1)},
    "film coefficient": {"W/(m^2 K)": Fraction(1)},
    "rate": {"1/s": Fraction(1), "1/min": Fraction(1, 60), "1/h": Fraction(1, 3600)},
    "heat per mass": {"J/g": Fraction(1000), "kJ/kg": Fraction(1000), "J/kg": Fraction(1)},
    "molar energy": {"kJ/mol": Fraction(1000), "J/mol": Fraction(1)},
    "time per area": {"min/m^2": Fraction(60), "s/m^2": Fraction(1)},
    "price per length": {"EUR/m": Fraction(1), "GBP/m": Fraction(1), "USD/m": Fraction(1)},
}
UNITS["stress"] = UNITS["pressure"]
UNITS["linear density"] = UNITS["mass per length"]

ICE_POINT = 273.15  # K, 0 °C
ZERO = {"degC": Fraction(str(ICE_POINT)), "degF": Fraction("459.67") * 5 / 9}
"""Kelvin at the zero of each scale, for the kind "temperature" only."""

REFUSED = {
    "mil": 'it is a thousandth of an inch to some and a millimetre to others; write "thou" or "mm"',
    "C": 'write "degC"',
    "F": 'write "degF"',
    "gsm": 'write "g/m^2"',
    '"': 'write "in"',
    "''": 'write "in"',
    "inch": 'write "in"',
}
"""Units that are well known and not taken, each with what to write instead."""

MOST_TEXT = 80
_NUMBER = r"(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2}(?![0-9]))?"
_MIXED = r"(?:[0-9]{1,6}\s+)?[0-9]{1,6}/[0-9]{1,6}"
_TERM = re.compile(rf"([+-]?)\s*({_MIXED}|{_NUMBER})\s*(.*)", re.DOTALL)
_SPREAD = re.compile(r"\s*(?:\+\s*/?\s*-|±)\s*")
_SIGNS = str.maketrans(
    {
        "−": "-",
        "µ": "u",
        "μ": "u",
        "²": "^2",
        "³": "^3",
        "°": "deg",
        "·": " ",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
    }
)
_SHOWN = (("um", "µm"), ("degC", "°C"), ("degF", "°F"), ("deg", "°"), ("^2", "²"), ("^3", "³"))


class Quantity(NamedTuple):
    """A value and its standard uncertainty, both SI (kelvin for temperatures)."""

    value: float
    spread: float = 0.0


class QuantityError(ValueError):
    """Text that is not a quantity of the wanted kind: why, and what to write instead."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(f"{reason}: {remedy}")
        self.reason = reason
        self.remedy = remedy


@cache
def read(text: str, kind: str) -> Quantity:
    """Read one quantity, ``"98.2 mm +- 0.02 mm"``, as value and standard uncertainty in SI.

    Raises QuantityError when the text is not one number with one unit of ``kind`` and an
    optional spread; KeyError when ``kind`` is not in ``UNITS``.

    >>> read("22 degC +- 2 degC", "temperature")
    Quantity(value=295.15, spread=2.0)
    >>> read("3 7/8 in", "length")
    Quantity(value=0.098425, spread=0.0)
    """
    units = UNITS[kind]
    if len(text) > MOST_TEXT:
        raise QuantityError(f"longer than {MOST_TEXT} characters", _example(kind))
    plain = text.translate(_SIGNS).strip()
    if not plain.isprintable():
        raise QuantityError("holds a character that cannot be printed", _example(kind))
    parts = _SPREAD.split(plain)
    if len(parts) > 2:
        raise QuantityError("states more than one spread", _example(kind))
    number, unit = _term(parts[0], kind)
    if unit == "" and "" not in units:
        raise QuantityError(*_without_unit(parts, kind))
    value = number * _factor(unit, kind)
    if kind == "temperature":
        value += ZERO.get(unit, Fraction(0))
        if value < 0:
            raise QuantityError("is below absolute zero", "give a temperature above 0 K")
    return Quantity(_finite(value), _spread(parts[1], unit, kind) if len(parts) == 2 else 0.0)


def show(value: float, unit: str = "mm", digits: int = 2) -> str:
    """Write an SI value in ``unit`` with so many decimals: 0.09842 → "98.42 mm".

    Temperatures are points on the scale; a value that is not finite is "not known".
    """
    if not math.isfinite(value):
        return "not known"
    return f"{_decimals(_in_unit(value, unit), digits)}{_shown(unit)}"


def show_spread(value: float, spread: float, unit: str = "mm", digits: int = 2) -> str:
    """Write value and standard uncertainty, "98.42 mm ± 0.05"; digits grow to show the spread."""
    if not math.isfinite(spread):
        return f"{show(value, unit, digits)} ± not known"
    width = spread / _factor_shown(unit)
    if width > 0.0:
        digits = max(digits, -math.floor(math.log10(width)))
    return f"{show(value, unit, digits)} ± {_decimals(width, digits)}"


def celsius(kelvin: float) -> str:
    """Write a temperature in whole degrees, "−18 °C"."""
    return f"{kelvin - ICE_POINT:.0f} °C".replace("-", "−")


def show_about(time: float) -> str:
    """Write a guessed time as coarsely as it is known: 301 min → "about 5 h"; "not known".

    To 5 minutes below an hour, to half an hour above. Time in s.
    """
    if not math.isfinite(time):
        return "not known"
    if time < 3600.0:
        return f"about {max(5, 5 * round(time / 300.0))} min"
    return f"about {round(time / 1800.0) / 2.0:g} h"


def show_weighed(mass: float, scale: float, unit: str = "g") -> str:
    """Write a mass to weigh as the scale shows it: to its step ``scale`` (kg), 97.6 g → "98 g"."""
    if not math.isfinite(mass):
        return "not known"
    digits = max(0, -math.floor(math.log10(scale / _factor_shown(unit)) + 1e-9))
    return show(round(mass / scale) * scale, unit, digits)


def _term(text: str, kind: str) -> tuple[Fraction, str]:
    """One signed number and the text of its unit."""
    match = _TERM.fullmatch(text)
    if match is None:
        raise QuantityError(*_no_number(text, kind))
    sign, digits, unit = match.groups()
    unit = " ".join(unit.split())
    _refuse_leftovers(text, unit, kind)
    if "/" in digits and unit not in ("in", ""):
        raise QuantityError("has a fraction, which only inches may have", _example(kind))
    number = _fraction(digits)
    return (-number if sign == "-" else number), unit


def _fraction(digits: str) -> Fraction:
    """The number as written: "98.2" or "3 7/8"."""
    try:
        return sum((Fraction(part) for part in digits.split()), Fraction(0))
    except ZeroDivisionError:
        raise QuantityError("divides by zero", 'write the fraction like "3 7/8 in"') from None


def _refuse_leftovers(text: str, unit: str, kind: str) -> None:
    """Say what is wrong when what follows the number cannot be a unit."""
    if re.match(r",\s*[0-9]", unit):
        raise QuantityError("has a comma in its number", _without_comma(text))
    if re.match(r"[eE][+-]?[0-9]", unit):
        raise QuantityError("has an exponent beyond 99", "such a number is no measure of a part")
    if unit in UNITS[kind]:
        return
    if re.match(r"-\s*[0-9]+/[0-9]", unit):
        raise QuantityError("has a hyphen before its fraction", 'write it like "3 7/8 in"')
    if re.match(r"[*+/^_.,-]|[0-9]", unit) or re.search(r"\s[+*-]|[0-9]\s", unit):
        raise QuantityError("is more than one number with one unit", _example(kind))


def _without_comma(text: str) -> str:
    point = re.sub(r",\s*(?=[0-9])", ".", text)
    none = re.sub(r",\s*(?=[0-9])", "", text)
    either = f'"{point}" or "{none}"' if re.search(r",\s*[0-9]{3}(?![0-9])", text) else f'"{point}"'
    return f"decimals take a point, thousands no mark: write {either}"


def _no_number(text: str, kind: str) -> tuple[str, str]:
    if not text:
        return "is empty", _example(kind)
    if re.match(r"[+-]?\s*(nan|inf|infinity)\b", text, re.IGNORECASE):
        return "is not a finite number", _example(kind)
    return "does not start with a number", _example(kind)


def _without_unit(parts: list[str], kind: str) -> tuple[str, str]:
    unit = _term(parts[1], kind)[1] if len(parts) == 2 else ""
    if unit:
        return "has no unit at its value", f'give it there too: "{parts[0]} {unit} +- {parts[1]}"'
    return "is a bare number", f"give its unit, one of {_units(kind)}"


def _factor(unit: str, kind: str) -> Fraction:
    """SI per unit, or a refusal that names what is known."""
    units = UNITS[kind]
    if unit in units:
        return units[unit]
    if unit in REFUSED:
        raise QuantityError(f'the unit "{unit}" is not taken', REFUSED[unit])
    others = [name for name, table in UNITS.items() if unit in table]
    if others:
        raise QuantityError(
            f'"{unit}" is a unit of {others[0]}, but this is a {kind}', f"use one of {_units(kind)}"
        )
    near = _nearest(unit, units)
    hint = f'did you mean "{near}"? ' if near else ""
    raise QuantityError(
        f'the unit "{unit}" is not known for a {kind}', f"{hint}known are {_units(kind)}"
    )


def _nearest(unit: str, units: dict[str, Fraction]) -> str | None:
    import difflib  # only a mistake needs it; every start of the program would pay

    lower = {name.lower(): name for name in units}
    near = difflib.get_close_matches(unit.lower(), lower, n=1, cutoff=0.5)
    return lower[near[0]] if near else None


def _spread(text: str, unit: str, kind: str) -> float:
    number, own = _term(text, kind)
    if own == "%" and "%" not in UNITS[kind]:
        raise QuantityError("has a spread in per cent", "a spread is absolute, in the same unit")
    if number < 0:
        raise QuantityError("has a negative spread", "a standard uncertainty is zero or more")
    return _finite(number * _factor(own or unit, kind))


def _finite(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        raise QuantityError("is too large", "such a number is no measure of a part") from None


def _units(kind: str) -> str:
    return ", ".join(UNITS[kind])


def _example(kind: str) -> str:
    unit = next(iter(UNITS[kind]))
    return f'write one number and one unit, like "{f"12.5 {unit}".strip()}"'


def _factor_shown(unit: str) -> float:
    return float(next(table[unit] for table in UNITS.values() if unit in table))


def _in_unit(value: float, unit: str) -> float:
    return (value - float(ZERO.get(unit, 0))) / _factor_shown(unit)


def _decimals(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}"
    return text.removeprefix("-") if float(text) == 0.0 else text


def _shown(unit: str) -> str:
    for plain, sign in _SHOWN:
        unit = unit.replace(plain, sign)
    return f" {unit}" if unit and unit != "°" else unit


def pattern(kind: str, exact: bool = False) -> str:
    """Regular expression (ECMA 262) of what ``read`` takes, for editors; ``exact``: no spread."""
    spelled = set(UNITS[kind]) | {
        unit.replace(plain, sign) for unit in UNITS[kind] for plain, sign in _SHOWN
    }
    units = "|".join(re.escape(unit).replace(r"\ ", " ") for unit in sorted(spelled, reverse=True))
    number = rf"[+−-]?\s*(?:{_MIXED}|{_NUMBER})"
    spread = "" if exact else rf"(?:\s*(?:\+\s*/?\s*-|±)\s*{number}\s*(?:{units})?)?"
    return rf"^\s*{number}\s*(?:{units}){spread}\s*$"
