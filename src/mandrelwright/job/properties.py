"""What a material may state: per group its properties, their kind, limits and meaning.

Limits are SI and wide; they catch a slipped unit, not an unusual material.
"""

from __future__ import annotations

from typing import NamedTuple


class Property(NamedTuple):
    """One property: the kind that ``quantities`` reads, its limits (SI) and what it means."""

    kind: str
    least: float
    most: float
    meaning: str
    needed: bool = True


class Group(NamedTuple):
    """One group of the library: what one entry is called, its properties, its lists of words."""

    label: str
    properties: dict[str, Property]
    words: tuple[str, ...] = ()
    open: bool = True  # a builder may add entries of his own


def _modulus(meaning: str, least: float = 0.1e9, needed: bool = True) -> Property:
    return Property("stress", least, 1000e9, meaning, needed)


def _strength(meaning: str) -> Property:
    return Property("stress", 1e6, 10e9, meaning, needed=False)


def _density(meaning: str, needed: bool = True) -> Property:
    return Property("density", 500.0, 5000.0, meaning, needed)


def _expansion(meaning: str, needed: bool = True) -> Property:
    return Property("expansion", -20e-6, 500e-6, meaning, needed)


def _conductivity(meaning: str) -> Property:
    return Property("conductivity", 0.01, 1000.0, meaning, needed=False)


def _heat(meaning: str) -> Property:
    return Property("specific heat", 100.0, 5000.0, meaning, needed=False)


def _temperature(meaning: str, needed: bool = False) -> Property:
    return Property("temperature", 250.0, 700.0, meaning, needed)


def _film(meaning: str, needed: bool = True) -> Property:
    return Property("length", 0.0, 2e-3, meaning, needed)


def _share(meaning: str, most: float = 1.0, kind: str = "ratio", needed: bool = True) -> Property:
    return Property(kind, 0.0, most, meaning, needed)


def _percent(meaning: str, most: float, needed: bool = True) -> Property:
    return Property("fraction", 0.0, most, meaning, needed)


def _angle(meaning: str) -> Property:
    return Property("angle", 0.0, 1.5708, meaning)


def _minutes(meaning: str) -> Property:
    return Property("time", 0.0, 90.0 * 86400.0, meaning)


def _per_area(meaning: str) -> Property:
    return Property("time per area", 0.0, 1e5, meaning)


def _diffusivity(meaning: str) -> Property:
    return Property("diffusivity", 1e-18, 1e-8, meaning)


def _energy(meaning: str, needed: bool = True) -> Property:
    return Property("molar energy", 1e3, 1e6, meaning, needed)


def _kelvin(meaning: str, needed: bool = False) -> Property:
    return Property("temperature difference", -50.0, 100.0, meaning, needed)


def _jolt(meaning: str) -> Property:
    return Property("acceleration", 0.0, 20e3, meaning)


def _surroundings(meaning: str) -> Property:
    return Property("film coefficient", 0.1, 1e5, meaning)


def _poisson() -> Property:
    return Property("ratio", 0.0, 0.5, "Poisson's ratio, first strain along the stress")


DIELECTRIC = {
    "permittivity": Property("ratio", 1.0, 100.0, "relative permittivity", False),
    "loss_tangent": Property("ratio", 0.0, 10.0, "loss tangent", False),
}
FIBRES = {
    **DIELECTRIC,
    "laminate_conductivity": Property(
        "electrical conductivity", 1.0, 1e8, "conductivity of its laminate, in the plane", False
    ),
    "density": _density("density"),
    "modulus_along": _modulus("tensile modulus along the filament, E1", 5e9),
    "modulus_across": _modulus("modulus across the filament, E2"),
    "shear_modulus": _modulus("shear modulus in the plane of the filament, G12"),
    "poisson": _poisson(),
    "strength": _strength("tensile strength along"),
    "failure_strain": _percent("strain at failure", 0.2, needed=False),
    "ply_fraction": _percent("fibre fraction of the plies that were tested", 0.8, needed=False),
    "ply_tension_along": _strength("tensile strength of a ply along its fibres"),
    "ply_compression_along": _strength("compressive strength of a ply along its fibres"),
    "ply_tension_across": _strength("tensile strength of a ply across its fibres"),
    "ply_compression_across": _strength("compressive strength of a ply across its fibres"),
    "ply_shear": _strength("shear strength of a ply in its plane"),
    "expansion_along": _expansion("thermal expansion along"),
    "expansion_across": _expansion("thermal expansion across"),
    "conductivity_along": _conductivity("thermal conductivity along"),
    "conductivity_across": _conductivity("thermal conductivity across"),
    "specific_heat": _heat("specific heat"),
}
RESINS = {
    **DIELECTRIC,
    "density": _density("density, cured"),
    "density_liquid": _density("density of the fresh mix", needed=False),
    "viscosity": Property("viscosity", 0.01, 100.0, "viscosity of the fresh mix, 25 °C", False),
    "modulus": _modulus("tensile modulus"),
    "poisson": _poisson(),
    "strength": _strength("tensile strength"),
    "failure_strain": _percent("strain at failure", 0.5, needed=False),
    "expansion": _expansion("thermal expansion below the glass transition"),
    "expansion_rubbery": _expansion("thermal expansion above the glass transition", needed=False),
    "conductivity": _conductivity("thermal conductivity"),
    "specific_heat": _heat("specific heat, cured"),
    "cure_shrinkage": _percent("linear shrinkage after gel, free, cured at room temperature", 0.03),
    "cure_shrinkage_complete": _percent(
        "linear shrinkage after gel, free, cured out", 0.03, needed=False
    ),
    "specific_heat_liquid": _heat("specific heat of the fresh mix"),
    "rate": Property("rate", 1e-7, 1.0, "rate constant k2 of cure at 25 °C", False),
    "rate_share": _share("k1 over k2 at 25 °C", 10.0, needed=False),
    "energy_first": _energy("activation energy of k1", needed=False),
    "energy": _energy("activation energy of k2", needed=False),
    "power": _share("power m of the conversion in the rate", 3.0, needed=False),
    "order": _share("power n of what is left in the rate", 5.0, needed=False),
    "heat_of_reaction": Property("heat per mass", 1e4, 2e6, "heat of the whole cure", False),
    "gel_conversion": _share("conversion at gel", needed=False),
    "glass_fresh": Property("temperature", 170.0, 300.0, "glass transition of the mix", False),
    "glass_full": _temperature("glass transition when cured out"),
    "glass_curvature": _share("DiBenedetto's λ", needed=False),
    "cut_off": _kelvin("how far the glass transition passes the temperature at half rate"),
    "cut_off_width": _kelvin("temperature over which the rate falls off"),
    "glass_transition": _temperature("glass transition after a week at room temperature", True),
    "glass_transition_60": _temperature("glass transition after a night at 60 °C"),
    "glass_transition_80": _temperature("glass transition after 8 h at 80 °C"),
}
PLASTICS = {
    "density": _density("density, solid"),
    "modulus": _modulus("tensile modulus, moulded", 0.01e9),
    "strength": _strength("yield or tensile strength, moulded"),
    "poisson": _poisson(),
    "expansion": _expansion("thermal expansion below the glass transition"),
    "conductivity": _conductivity("thermal conductivity"),
    "specific_heat": _heat("specific heat"),
    "glass_transition": _temperature("glass transition", True),
    "deflection_low": _temperature("deflection temperature under 0.45 MPa", True),
    "deflection_high": _temperature("deflection temperature under 1.8 MPa"),
    "shrink_across": _percent("print shrinkage in the layers", 0.1),
    "shrink_up": _percent("print shrinkage across the layers", 0.1),
    "water": _percent("water taken up, by weight", 0.2, needed=False),
}
RELEASES = {
    "film": _film("thickness added per side"),
    "coat": _film("thickness of one coat of wax", needed=False),
    "friction": _share("friction of epoxy on the released mould", 2.0),
    "sticking": Property("stress", 0.0, 20e6, "shear strength of the released interface"),
    "highest_temperature": _temperature("highest temperature the system stands"),
}
SOLVENTS = {
    "exposure_limit": _percent("vapour in air that may be breathed over a working day", 1.0),
    "danger": _percent("vapour in air at once dangerous to life or health", 1.0),
    "explosive_least": _percent("least vapour in air that explodes", 1.0),
    "explosive_most": _percent("most vapour in air that explodes", 1.0),
    "vapour_pressure": Property("pressure", 1.0, 1e5, "vapour pressure at 20 °C"),
    "molar_mass": Property("molar mass", 0.01, 1.0, "molar mass"),
    "density": _density("density of the liquid"),
    "flash_point": _temperature("flash point"),
}
COMPACTIONS = {
    "fibre_fraction": Property("fraction", 0.1, 0.8, "fibre volume fraction"),
    "voids": _percent("void volume fraction", 0.3),
    "pressure": Property("pressure", 0.0, 1e6, "pressure on the laminate", needed=False),
    "least_temperature": _temperature("temperature it needs to work"),
}
_LINEAR = Property("linear density", 1e-5, 0.02, "linear density of one tow")
TOWS = {
    "linear_density": _LINEAR,
    "narrowest_width": Property("length", 0.1e-3, 30e-3, "width below which it jams", needed=False),
}
SLEEVES = {
    "tows": Property("ratio", 8.0, 2000.0, "tows in both directions together"),
    "tow": _LINEAR,
    "diameter_at_45": Property("length", 3e-3, 1.0, "diameter at which the braid lies at 45°"),
}
COATINGS = {
    "density": _density("density, dry"),
    **DIELECTRIC,
}
ADHESIVES = {
    "shear_strength": Property("stress", 0.1e6, 100e6, "lap shear on abraded laminate, by hand"),
    "shear_modulus": _modulus("shear modulus", 1e5),
    "glass_transition": _temperature("glass transition, cured at room temperature", True),
    "thickest": _film("thickest glue line that it still fills"),
}
PINS = {
    "shear_strength": Property("stress", 1e6, 1e9, "shear strength"),
}
PRACTICE = {
    "crimp_stiffness": _share("stiffness kept by a crimped tow"),
    "crimp_strength": _share("strength kept by a crimped tow"),
    "angle_error": _angle("laid braid angle minus the angle its diameter gives"),
    "practical_least_angle": _angle("least braid angle of good practice"),
    "practical_most_angle": _angle("largest braid angle of good practice"),
    "hard_least_angle": _angle("least braid angle at all"),
    "hard_most_angle": _angle("largest braid angle at all"),
    "loose_fraction": _percent("fibre volume fraction of a wet sleeve before squeezing", 0.8),
    "ragged_end": Property("length", 0.0, 0.1, "how far a cut end wanders to either side"),
    "strain_taken": _percent("strain along its edge that cloth takes without a fold", 0.2),
    "poisson_across": _poisson(),
    "inner_skin": _film("resin-rich face on the mould"),
    "outer_texture": _film("texture of the brushed outside"),
    "strain_relaxed": _share("cure strain between gel and glass that relaxes on the mould"),
    "infill_walls": _share("share of an infill's plastic that carries heat outwards"),
    "infill_air": Property(
        "conductivity", 0.01, 1.0, "air in an infill's cells, with what they radiate"
    ),
    "release_above": _kelvin("glass transition above the room before a part may be pulled", True),
    "mould_margin": _kelvin("mould kept below its softening", True),
    "cup_loss": _surroundings("heat from the surface of a cup"),
    "modulus_in_layers": _share("modulus kept by printing, in the layers"),
    "modulus_across_layers": _share("modulus kept by printing, across the layers"),
    "strength_in_layers": _share("strength kept by printing, in the layers"),
    "strength_across_layers": _share("strength kept by printing, across the layers"),
    "offset": Property("length", -2e-3, 2e-3, "printed minus intended outside diameter"),
    "diameter_scatter": _film("scatter of one print's diameter, fixed part"),
    "diameter_scatter_share": _percent("scatter of one print's diameter, share of the size", 0.02),
    "form": _film("ovality, half of largest minus smallest diameter"),
    "per_side": _film("fill, primer and paint per side"),
    "springback": Property("fraction", -5e-3, 5e-3, "opening of the free bore, over its diameter"),
    "roughness_left": Property("length", 0.0, 1e-4, "Ra once smoothed"),
    "time_constant_hot": _minutes("time constant of smoothing in warm vapour"),
    "time_constant_cold": _minutes("time constant of smoothing in cold vapour"),
    "layer_exponent": _share("power of layer height in the time constant", 4.0),
    "extra_loss": _film("loss of diameter in smoothing beyond levelling"),
    "edge_radius": _film("rounding of edges in smoothing"),
    "ring_scatter": _film("scatter of the loss of diameter from one smoothed ring to the next"),
    "softened_depth": _film("depth of skin that the solvent softens"),
    "diffusivity_least": _diffusivity("least diffusivity of the solvent in the plastic"),
    "diffusivity_most": _diffusivity("largest diffusivity of the solvent in the plastic"),
    "dry_rate": Property("weight loss", 0.0, 1e-6, "loss of weight below which a part is dry"),
    "dry_before_wax": _minutes("drying after smoothing before wax"),
    "dry_before_epoxy": _minutes("drying after smoothing before epoxy"),
    "wall": _share("Ra of a vertical wall over layer height"),
    "stair": _share("share of the sharp-cornered staircase in Ra", 2.0),
    "floor": Property("length", 0.0, 1e-4, "Ra that is there at any layer height"),
    "finished": Property("length", 0.0, 1e-4, "Ra that wet paper and filler leave"),
    "peak_to_mean": _share("Rz over Ra", 20.0),
    "sand": _minutes("cost of sanding a large mould"),
    "sand_tenth": _minutes("more for every tenth of a millimetre to sand off the diameter"),
    "film_wrap": _minutes("cost of adding a wrap of film to a small mould"),
    "reprint": _minutes("cost of another mould"),
    "hone": _minutes("cost of opening a tight bore"),
    "shim": _minutes("cost of shimming a loose mate"),
    "scrap": _minutes("cost of losing the part"),
    "lies_strain": _percent("strain at which a flat film still lies without pleats", 0.2),
    "end_allowance": Property("length", 0.0, 1.0, "sleeve to hold and tie, at each end"),
    "length_allowance": _percent("sleeve cut longer than it lies", 1.0),
    "mix_share": _share("resin mixed over resin laid", 5.0),
    "mix_fixed": Property("mass", 0.0, 1.0, "resin that stays in one cup, brush and glove"),
    "hardener_error": _percent("error of the hardener's weight that is borne", 0.5),
    "pot_life_energy": _energy("apparent activation energy of a cup's pot life"),
    "viscosity_energy": _energy("apparent activation energy of the mix's viscosity"),
    "film_over_cup": _share("time until a thin film gels over a cup's pot life", 100.0),
    "surface_film": _film("free resin outside a squeezed layer"),
    "run": Property("length", 1e-4, 1.0, "how far surface resin may run before the mould turns"),
    "mix": _minutes("weighing and stirring one cup"),
    "pull": _minutes("pulling one sleeve over the mould"),
    "tie": _minutes("tying one end of a sleeve"),
    "wet": _per_area("wetting a layer through"),
    "squeeze": _per_area("squeezing a wet layer"),
    "cover": _per_area("covering the last layer with what presses it"),
    "helper": _share("time that two people take over the time of one"),
    "cover_share": _share("covering material cut over the surface it covers", 10.0),
    "still_air": _surroundings("heat to still air in a room, radiation included"),
    "moving_air": _surroundings("heat to the moving air of an oven or in front of a fan"),
    "freezer_air": _surroundings("heat to the still air of a freezer, radiation included"),
    "water": _surroundings("heat to water stirred by hand"),
    "contact": _surroundings("heat to a body pressed against the surface"),
    "enclosed_air": _surroundings("heat to the air in a bore, radiation to itself left out"),
    "resin_exponent": _share(
        "power of what is left to the glass transition in the resin's properties"
    ),
    "resin_reference": _temperature("temperature at which plies were tested"),
    "reserve_wanted": _share("reserve factor that is asked of the least likely estimate", 10.0),
    "travel": _film("how far a part is worked along its mould"),
    "pace": _share("how fast heat moves over what is calculated", 5.0),
    "weak": _share("loss in a wall that is worth telling, dB", 100.0),
    "bearing": Property("stress", 1e6, 2e9, "stress at which a pin crushes its hole"),
    "tear_out": Property("stress", 1e6, 1e9, "shear stress at which a pin tears out to the edge"),
    "edge_share": _share("least distance of a hole from the edge over its diameter", 20.0),
    "discharge": _share("flow through a drilled hole over what Bernoulli gives", 1.0),
    "cord_width": Property("length", 1e-3, 0.1, "width of a shock cord"),
    "hold": _share("force that pins hold over the force that pulls them", 20.0),
    "let_go": _share("force of ejection over the force that pins hold", 20.0),
    "bond_reserve": _share("strength of a bond over its largest stress", 20.0),
    "shut_in": _share("loss in a wall that shuts an antenna in, dB", 100.0),
    "detuning": _percent("resonance lowered by a wall close by", 0.5),
    "water_creep": Property(
        "creep", 0.0, 1.0e-3, "how fast water creeps along a film that it dissolves"
    ),
    "lines_left": _share("layer lines left over what is calculated", 5.0),
    "treatment_lasts": _share("share of a treatment's variance that is the same on every mould"),
    "film_lasts": _share("share of the variance of wax and film that is the same on every part"),
    "laminate_lasts": _share("share of the laminate's variance that is the same in every part"),
    "room_lasts": _share("share of the variance of the setting temperature that is the room's own"),
    "spread_degrees": _share("readings that the library's spreads count as", 1000.0),
    "tool_lasts": _share("share of an instrument's variance that is its own zero"),
    "thermometer": Property("temperature difference", 0.0, 20.0, "doubt of a temperature"),
    "boost": _jolt("acceleration from rest to top speed where no time is stated"),
    "gust": Property("speed", 0.0, 60.0, "gust across the flight path"),
    "handling": Property("force", 0.0, 1e5, "a hand across the tip"),
    "ejection": Property("pressure", 0.0, 2e6, "pressure of the ejection charge in the part"),
    "zippering": _jolt("as the cord comes taut"),
    "landing": _jolt("as the tip meets the ground"),
    "landing_angle": _angle("axis from the vertical as the tip meets the ground"),
    "sun": Property("irradiance", 0.0, 1400.0, "sun on a face that looks at it"),
    "wind": Property("speed", 0.0, 60.0, "wind on a part that stands in the sun"),
    "emits": _share("emissivity of any paint and of bare laminate"),
    "heat_doubt": _share("spread of the film coefficient in flight, over itself"),
    "coat_conductivity": Property("conductivity", 0.01, 10.0, "thermal conductivity of coats"),
    "coat_heat": Property("heat per volume", 1e4, 1e7, "heat capacity of coats"),
    "black": _share("sun taken up by black paint"),
    "dark": _share("sun taken up by a dark colour"),
    "middle": _share("sun taken up by red, mid blue, grey"),
    "light": _share("sun taken up by yellow, light grey"),
    "white": _share("sun taken up by white paint in use"),
    "bare_glass": _share("sun taken up by bare glass laminate"),
    "bare_carbon": _share("sun taken up by bare carbon laminate"),
}

GROUPS = {
    "fibres": Group("fibre", FIBRES),
    "resins": Group("resin", RESINS),
    "plastics": Group("plastic", PLASTICS, ("smooths_with",)),
    "releases": Group("release", RELEASES, ("dissolved_by", "repelled_by")),
    "solvents": Group("solvent", SOLVENTS),
    "compactions": Group("compaction", COMPACTIONS),
    "tows": Group("tow", TOWS, ("fibres",)),
    "sleeves": Group("sleeve", SLEEVES, ("fibre",)),
    "adhesives": Group("adhesive", ADHESIVES),
    "pins": Group("pin", PINS),
    "coatings": Group("coating", COATINGS, open=False),
    "practice": Group("practice", PRACTICE, open=False),
}
