"""A first job from six answers, with every default marked as one."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass

from mandrelwright.job.materials import Library, load_library
from mandrelwright.job.recipe import COMPACTION, TIP_LAYERS, TIP_MARGIN, Layup, Nose, Stock, lay_up
from mandrelwright.job.shelf import nearest
from mandrelwright.job.values import InputError, Text

RECOMMEND = "recommend"
SPEEDS = {"below 150 m/s": "150 m/s", "150 to 300 m/s": "300 m/s", "above 300 m/s": "600 m/s"}
ALTITUDES = {"below 1000 m": "1000 m", "1000 to 3000 m": "3000 m", "above 3000 m": "10000 m"}
SHAPES = (
    "von Karman",
    "tangent ogive",
    "cone",
    "ellipsoid",
    "secant ogive",
    "parabola",
    "power",
    "Haack",
)
FULLNESS, EXPONENT, HAACK, FLATTER = 0.75, 0.6, 1.0 / 3.0, 1.5
CLEARANCE = 0.15e-3  # m, wanted on diameter


@dataclass(frozen=True)
class Answers:
    """Six answers, measures as text with a unit: (1) tube and coupler, (2) shape and length,
    (3) antenna inside or not, (4) speed and altitude class, (5) plastic and bed, (6) sleeve."""

    tube: str
    coupler: str
    shape: str
    length: str
    antenna: bool
    speed: str
    altitude: str
    plastic: str
    bed: tuple[str, str, str]
    sleeve: str = RECOMMEND
    name: str = "nose"


def new_job(answers: Answers) -> str:
    """A commented job file in which every value that was not answered is marked ``# default``.

    Raises InputError, with the answer's name as its place, when an answer cannot be used.
    """
    library = load_library()
    tube, nose, layup = _checked(answers, library)
    skirt = math.ceil(tube * 1e3 / 5.0) * 5
    parts = (
        _head(answers),
        _sections(answers, nose, layup, skirt),
        _fits(answers, skirt),
        _sleeves(layup),
        _layers(layup),
        _workshop(answers, tube),
        _flight(answers, nose, skirt),
    )
    return "".join(f"{_aligned(line)}\n" for line in "\n".join(parts).splitlines())


def _aligned(line: str) -> str:
    """Code and comment, parted by a tab in the templates, in two columns."""
    code, tab, comment = line.partition("\t")
    return f"{code:<43} {comment}" if tab else code


def _checked(answers: Answers, library: Library) -> tuple[float, Nose, Layup]:
    """Tube diameter (m), nose and lay-up, once every answer makes sense."""
    tube = _measure("tube", answers.tube, 0.03, 0.2)
    coupler = _measure("coupler", answers.coupler, 0.02, tube)
    length = _measure("length", answers.length, 0.5 * tube, 10.0 * tube, exact=True)
    if not (answers.name.strip() and answers.name.isprintable() and len(answers.name) <= 60):
        raise InputError("must be 1 to 60 printable characters", "shorten it", ("name",))
    for size in answers.bed:
        _measure("bed", size, 0.05, 3.0, exact=True)
    for name, answer, known in (
        ("shape", answers.shape, SHAPES),
        ("speed", answers.speed, SPEEDS),
        ("altitude", answers.altitude, ALTITUDES),
        ("plastic", answers.plastic, library.plastics),
        ("sleeve", answers.sleeve, (RECOMMEND, *library.sleeves)),
    ):
        if answer not in known:
            raise InputError(
                f'"{answer}" is not known', nearest(answer, dict.fromkeys(known)), (name,)
            )
    nose = Nose(answers.shape, _parameter(answers.shape, length, tube), length, tube)
    sleeve = "" if answers.sleeve == RECOMMEND else answers.sleeve
    layup = lay_up(nose, (tube - coupler - CLEARANCE) / 2.0, library, sleeve)
    if answers.antenna and layup.big.fibre.startswith("carbon"):
        raise InputError(
            "carbon shuts radio in, and an antenna is inside",
            f'take an E-glass sleeve, or "{RECOMMEND}"',
            ("sleeve",),
        )
    return tube, nose, layup


def _measure(name: str, text: str, least: float, most: float, exact: bool = False) -> float:
    try:
        limits = Text("length", _text(least), _text(most), exact=exact)
        return limits.quantity(text).value
    except InputError as error:
        raise InputError(f'"{text}" {error.limit}', error.remedy, (name,)) from None


def _parameter(shape: str, length: float, base: float) -> float | None:
    tangent = (length**2 + base**2 / 4.0) / base
    return {
        "secant ogive": FLATTER * tangent,
        "parabola": FULLNESS,
        "power": EXPONENT,
        "Haack": HAACK,
    }.get(shape)


def _text(length: float) -> str:
    return f"{length * 1e3:.7g} mm"


def _head(answers: Answers) -> str:
    return f"""\
# Every measure is text with its unit; "+- x" is one standard uncertainty. See docs/job.md.
# Lines marked "default" were not answered: look at each and correct what differs.
schema = 1

[part]
name = {json.dumps(answers.name, ensure_ascii=False)}
describes = "outside"\t# default: the sections draw the outer surface
"""


def _sections(answers: Answers, nose: Nose, layup: Layup, skirt: int) -> str:
    named = {
        "secant ogive": ("ogive_radius", f'"{_text(nose.parameter or 0.0)}"'),
        "parabola": ("fullness", FULLNESS),
        "power": ("exponent", EXPONENT),
        "Haack": ("fullness", round(HAACK, 6)),
    }.get(answers.shape)
    further = f"{named[0]} = {named[1]}\t# default\n" if named else ""
    return f"""\
[[section]]\t# in order from the tip
name = "nose"\t# default
shape = "{answers.shape}"
length = "{answers.length.strip()}"\t# of the full profile, to its virtual point
base = "{_text(nose.base)}"\t# the tube as measured
{further}tip = {{ open = "{_text(layup.open_tip)}" }}\t# default: the sleeve still lies well here

[[section]]
name = "skirt"\t# default
shape = "cylinder"\t# default
length = "{skirt} mm"\t# default: one diameter, for the coupler
diameter = "{_text(nose.base)}"\t# the tube as measured
blend = "20 mm"\t# default: rounds the corner to the nose
"""


def _fits(answers: Answers, skirt: int) -> str:
    return f"""\
[[fit]]
name = "coupler"\t# default
kind = "bore"\t# default: slides over the coupler
mates = "{answers.coupler.strip()}"
from_base = "0 mm"\t# default
to_base = "{skirt - 5} mm"\t# default
clearance = {{ least = "0.05 mm", wanted = "0.15 mm", most = "0.30 mm" }}\t# default, on diameter
leads = true\t# default: this fit sets the mould

[[fit]]
name = "airframe"\t# default
kind = "flush"\t# default: level with the tube
mates = "{answers.tube.strip()}"
from_base = "0 mm"\t# default
to_base = "5 mm"\t# default
step = {{ least = "-0.10 mm", most = "0.20 mm" }}\t# default, per side; positive is proud
finish = "sand"\t# default
"""


def _sleeves(layup: Layup) -> str:
    if layup.big.library:
        big = f'[[sleeve]]\nname = "big"\t# default\nlibrary = "{layup.big.library}"\n'
    else:
        big = _sleeve("big", layup.big)
    return big if layup.small is None else f"{big}\n{_sleeve('small', layup.small)}"


def _sleeve(name: str, stock: Stock) -> str:
    return f"""\
[[sleeve]]\t# look for one near this, then write what its label says
name = "{name}"\t# default
fibre = "{stock.fibre}"\t# default
tows = {stock.tows}\t# default
tow = "{stock.tow * 1e6:.6g} tex +- {stock.tow_spread * 1e6:.3g} tex"\t# default
diameter_at_45 = "{_text(stock.diameter_at_45)} +- {_text(0.02 * stock.diameter_at_45)}"\t# default
"""


def _layers(layup: Layup) -> str:
    small = (
        f"""\
[[layer]]\t# from the mould outwards
sleeve = "small"\t# default
from = "tip"\t# default
to = {{ diameter = "{_text(layup.small_to)}" }}\t# default
repeat = {TIP_LAYERS}\t# default
stagger = "{_text(layup.stagger)}"\t# default

"""
        if layup.small
        else ""
    )
    start = f'{{ diameter = "{_text(layup.big_from)}" }}' if layup.small else '"tip"'
    return f"""\
{small}[[layer]]
sleeve = "big"\t# default
from = {start}\t# default
to = "end"\t# default
repeat = {layup.repeats}\t# default: fills the wall between coupler and tube
stagger = "{_text(layup.stagger)}"\t# default: each ends so much shorter at an inner end
"""


def _workshop(answers: Answers, tube: float) -> str:
    width, depth, height = (size.strip() for size in answers.bed)
    flange = _text(math.ceil(tube * 1e3 + 25.0) / 1e3)
    return f"""\
[compaction]
method = "{COMPACTION}"\t# default

[resin]
name = "slow"\t# default

[mould]
plastic = "{answers.plastic}"
core = {{ walls = 4, infill = "15 %" }}\t# default
beyond_trim = {{ tip = "{_text(TIP_MARGIN)}", base = "15 mm" }}\t# default
flange = {{ diameter = "{flange}", thickness = "8 mm" }}\t# default
leaves = "tipwards"\t# default

[printer]
bed = ["{width}", "{depth}"]
height = "{height}"
layer = "0.20 mm"\t# default
line = "0.45 mm"\t# default

[[surface]]
do = "sand"\t# default
off = "0.05 mm +- 0.02 mm"\t# default, per side

[[surface]]
do = "wax"\t# default
coats = 5\t# default

[release]
system = "wax and PVA film"\t# default

[shop]
temperature = "20 degC +- 3 degC"\t# default
measured_at = "20 degC"\t# default: where every diameter in this file was measured
caliper = "0.02 mm"\t# default: standard uncertainty of one reading
paper = "A4"\t# default
batch_most = "150 g"\t# default: largest cup mixed at once
"""


def _flight(answers: Answers, nose: Nose, skirt: int) -> str:
    antenna = (
        f"""
[[antenna]]
name = "position"\t# default
frequency = "1575.42 MHz"\t# default
from_base = "{skirt + round(0.3e3 * nose.length)} mm"\t# default
to_base = "{skirt + round(0.5e3 * nose.length)} mm"\t# default
"""
        if answers.antenna
        else ""
    )
    return f"""\
[flight]\t# the upper end of the class you chose
top_speed = "{SPEEDS[answers.speed]}"
altitude = "{ALTITUDES[answers.altitude]}"
{antenna}"""
