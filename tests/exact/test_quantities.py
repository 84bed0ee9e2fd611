"""Every trap of reading a measure, and the exact factors.

Factors: NIST Special Publication 811 (2008), appendix B.8, from memory: inch 25.4 mm, pound
0.453 592 37 kg, psi 6894.757 Pa, denier 1.111 111e-7 kg/m, ounce per square yard 0.033 905 75
kg/m2.
"""

import math
import time

import pytest

from mandrelwright.quantities import (
    Quantity,
    QuantityError,
    read,
    show,
    show_about,
    show_spread,
    show_weighed,
)


@pytest.mark.parametrize(
    ("text", "kind", "value", "spread"),
    [
        ("98.2 mm", "length", 0.0982, 0.0),
        ("98.2mm +- 0.02mm", "length", 0.0982, 2e-5),
        ("98.2 mm ± 20 µm", "length", 0.0982, 2e-5),
        ("98.2 mm +/- 0.02", "length", 0.0982, 2e-5),
        ("3 7/8 in", "length", 0.098425, 0.0),
        ("7/8 in +- 1/64 in", "length", 0.022225, 0.000396875),
        ("5 thou", "length", 0.000127, 0.0),
        ("-0.10 mm", "length", -0.0001, 0.0),
        ("−0.10 mm", "length", -0.0001, 0.0),
        ("1e3 mm", "length", 1.0, 0.0),
        (".5 mm", "length", 0.0005, 0.0),
        ("25 degC", "temperature", 298.15, 0.0),
        ("25 °C ± 2 °C", "temperature", 298.15, 2.0),
        ("77 degF +- 1.8 degF", "temperature", 298.15, 1.0),
        ("0.6 % +- 0.2 %", "fraction", 0.006, 0.002),
        ("30 g per 100 g", "mix ratio", 0.3, 0.0),
        ("0.35 +- 0.02", "ratio", 0.35, 0.02),
        ("68e-6 1/K", "expansion", 68e-6, 0.0),
        ("600 tex +- 15 tex", "linear density", 6e-4, 1.5e-5),
        ("9000 denier", "linear density", 1e-3, 0.0),
        ("56 g/m", "mass per length", 0.056, 0.0),
        ("45 deg", "angle", math.pi / 4, 0.0),
        ("60 min", "time", 3600.0, 0.0),
        ("0.2 W/(m K)", "conductivity", 0.2, 0.0),
        ("600 mPa·s", "viscosity", 0.6, 0.0),
        ("51 kJ/mol +- 6 kJ/mol", "molar energy", 51e3, 6e3),
        ("60 min/m²", "time per area", 3600.0, 0.0),
        ("12 EUR/m", "price per length", 12.0, 0.0),
    ],
)
def test_what_is_read(text: str, kind: str, value: float, spread: float) -> None:
    assert list(read(text, kind)) == pytest.approx([value, spread], rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "value", "digits_printed"),
    [
        ("1 psi", "pressure", 6894.757, 1e-3),
        ("1 oz", "mass", 0.02834952, 1e-8),
        ("1 oz/yd^2", "areal weight", 0.03390575, 1e-8),
        ("1 denier", "linear density", 1.111111e-7, 1e-13),
        ("1 lb/in^3", "density", 27679.90, 1e-2),
    ],
)
def test_factors_as_printed_in_nist_sp_811(
    text: str, kind: str, value: float, digits_printed: float
) -> None:
    assert read(text, kind).value == pytest.approx(value, abs=digits_printed / 2)


@pytest.mark.parametrize(
    ("text", "kind", "reason", "remedy"),
    [
        ("98,2 mm", "length", "comma", '"98.2 mm"'),
        ("1,500 mm", "length", "comma", '"1.500 mm" or "1500 mm"'),
        ("50 ± 0.02 mm", "length", "no unit at its value", '"50 mm +- 0.02 mm"'),
        ("9**9**9 mm", "length", "more than one number", "one number and one unit"),
        ("5 mm + 3 mm", "length", "more than one number", "one number and one unit"),
        ("2*3 mm", "length", "more than one number", "one number and one unit"),
        ("1_000 mm", "length", "more than one number", "one number and one unit"),
        ("1 500 mm", "length", "more than one number", "one number and one unit"),
        ("5 ft 3 in", "length", "more than one number", "one number and one unit"),
        ("5 mm +0.1/-0.2", "length", "more than one number", "one number and one unit"),
        ("nan mm", "length", "not a finite number", "one number"),
        ("-inf mm", "length", "not a finite number", "one number"),
        ("1e999999999 mm", "length", "exponent beyond 99", "no measure"),
        ("98.2", "length", "bare number", "give its unit"),
        ("50 +- 0.02", "length", "bare number", "give its unit"),
        ("98.2 mms", "length", "not known for a length", 'did you mean "mm"'),
        ("98.2 MM", "length", "not known for a length", 'did you mean "mm"'),
        ("25 Celsius", "temperature", "not known for a temperature", "degC"),
        ("98.2 kg", "length", "unit of mass", "use one of mm"),
        ("5 mil", "length", '"mil" is not taken', '"thou" or "mm"'),
        ("25 C", "temperature", '"C" is not taken', '"degC"'),
        ("3-7/8 in", "length", "hyphen", '"3 7/8 in"'),
        ("3 7/0 in", "length", "divides by zero", '"3 7/8 in"'),
        ("3 1/2 mm", "length", "only inches", "one number"),
        ("5 mm +- -1 mm", "length", "negative spread", "zero or more"),
        ("5 mm +- 2 %", "length", "per cent", "absolute"),
        ("5 mm +- 1 mm +- 1 mm", "length", "more than one spread", "one number"),
        ("5 mm +-", "length", "empty", "one number"),
        ("", "length", "empty", "one number"),
        ("wide", "length", "does not start with a number", "one number"),
        ("٣ mm", "length", "does not start with a number", "one number"),
        ("-300 degC", "temperature", "absolute zero", "above 0 K"),
        ("1" * 90 + " mm", "length", "longer than 80", "one number"),
    ],
)
def test_what_is_refused(text: str, kind: str, reason: str, remedy: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text, kind)
    assert reason in caught.value.reason
    assert remedy in caught.value.remedy


def test_a_hostile_text_costs_no_time() -> None:
    start = time.perf_counter()
    for text in ("9**9**9 mm", "1e99999999 mm", "(" * 80, "1" * 80, " " * 70 + "1 mm +-" + " " * 3):
        with pytest.raises(QuantityError):
            read(text, "length")
    assert time.perf_counter() - start < 0.1


def test_an_unknown_kind_is_a_fault_of_the_caller() -> None:
    with pytest.raises(KeyError):
        read("1 mm", "colour")


def test_show() -> None:
    assert show(0.09842) == "98.42 mm"
    assert show(-1e-9) == "0.00 mm"
    assert show(295.15, "degC", 1) == "22.0 °C"
    assert show(math.pi / 4, "deg", 1) == "45.0°"
    assert show(0.4, "%", 0) == "40 %"
    assert show(math.nan) == "not known"


def test_show_spread_never_hides_the_spread() -> None:
    assert show_spread(0.09842, 5e-5) == "98.42 mm ± 0.05"
    assert show_spread(0.09842, 4e-6) == "98.420 mm ± 0.004"
    assert show_spread(0.09842, 0.0) == "98.42 mm ± 0.00"
    assert show_spread(295.15, 2.0, "degC", 0) == "22 °C ± 2"
    assert show_spread(0.09842, math.inf) == "98.42 mm ± not known"


def test_what_is_shown_can_be_read_again() -> None:
    assert read(show_spread(295.15, 2.0, "degC", 2), "temperature") == Quantity(295.15, 2.0)


@pytest.mark.parametrize(
    ("grams", "step", "text"),
    [(97.6, 1.0, "98 g"), (97.63, 0.1, "97.6 g"), (97.63, 0.01, "97.63 g"), (98.4, 5.0, "100 g"),
     (98.4, 0.5, "98.5 g"), (math.nan, 1.0, "not known")],
)  # fmt: skip
def test_a_weight_is_shown_as_the_scale_shows_it(grams: float, step: float, text: str) -> None:
    assert show_weighed(grams * 1e-3, step * 1e-3) == text


@pytest.mark.parametrize(
    ("minutes", "text"),
    [(301, "about 5 h"), (44, "about 45 min"), (1, "about 5 min"), (100, "about 1.5 h")],
)
def test_a_guessed_time_is_shown_coarsely(minutes: float, text: str) -> None:
    assert show_about(60.0 * minutes) == text
