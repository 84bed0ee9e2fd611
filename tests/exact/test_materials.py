"""The material library: every number complete, every incomplete file refused, overrides by name."""

from __future__ import annotations

import dataclasses
import hashlib
import math
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from mandrelwright.job import materials
from mandrelwright.job.materials import (
    Datum,
    MaterialError,
    UnknownMaterialError,
    load_library,
    rows,
)
from mandrelwright.job.properties import GROUPS
from mandrelwright.job.sources import cite, sources
from mandrelwright.job.values import MOST_BYTES
from mandrelwright.quantities import read

LIBRARY = load_library()
ALL = list(rows(LIBRARY))
OWN = 'basis = "measured", source = "our ring", where = "3 May"'


def write(folder: Path, text: str) -> Path:
    path = folder / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def refusal(folder: Path, text: str) -> MaterialError:
    with pytest.raises(MaterialError) as caught:
        load_library(write(folder, text))
    assert caught.value.reason
    assert caught.value.remedy
    assert caught.value.file == "own.toml"
    return caught.value


def density(plastic: str, value: str, spread: str) -> str:
    return f'[plastics.{plastic}]\ndensity = {{ value = "{value}", spread = "{spread}", {OWN} }}'


def raw() -> Iterator[tuple[str, str, str, dict[str, Any]]]:
    for group in GROUPS:
        text = (materials.SHIPPED / f"{group}.toml").read_text(encoding="utf-8")
        for name, table in tomllib.loads(text).items():
            for key, datum in table.items():
                if key != "like":
                    yield group, name, key, datum


def test_every_number_has_value_spread_basis_source_and_place() -> None:
    for group, name, key, datum in ALL:
        place = f"{group} {name} {key}"
        assert math.isfinite(datum.value), place
        assert datum.spread >= 0.0, place
        assert datum.basis in materials.SHIPPED_BASES, place
        assert datum.source in sources(), place
        assert datum.where.strip(), place
        assert datum.path.startswith(f"{group}."), place


def test_what_is_loaded_is_what_the_files_say() -> None:
    for group, name, key, stated in raw():
        entry = getattr(LIBRARY, group)[name]
        if "words" in stated:
            assert list(entry.words[key].words) == stated["words"]
            continue
        kind = GROUPS[group].properties[key].kind
        assert entry[key].value == read(stated["value"], kind).value
        assert (entry[key].source, entry[key].where) == (stated["source"], stated["where"])


def test_only_a_bare_assumption_may_stand_without_a_spread() -> None:
    exact = {("sleeves", "tows"), ("releases", "film")}
    exact |= {("solvents", "exposure_limit"), ("solvents", "danger")}  # limits by decree
    assert {(group, key) for group, _, key, datum in ALL if datum.spread == 0.0} <= exact


def test_numbers_of_memory_say_that_the_text_was_not_seen() -> None:
    unseen = {"general-literature", "soden-1998", "common-practice"}
    for group, name, key, datum in ALL:
        if datum.source in unseen:
            assert datum.basis in {"memory", "assumed"}, f"{group} {name} {key}"
        if datum.source == "estimate":
            assert datum.basis == "assumed", f"{group} {name} {key}"


def test_every_source_is_named_by_some_number_and_cites_in_one_line() -> None:
    named = {stated["source"] for _, _, _, stated in raw()} | {"relation"}
    assert set(sources()) == named
    for key in sources():
        assert cite(key) != key
        assert "\n" not in cite(key)
    assert cite("our ring") == "our ring"


def test_no_source_line_is_lost_by_the_reader() -> None:
    text = Path(materials.SHIPPED).with_name("sources.bib").read_text(encoding="utf-8")
    assert len(sources()) == len(re.findall(r"^@", text, re.M))
    assert sum(len(fields) for fields in sources().values()) == len(
        re.findall(r"^  \w+ = ", text, re.M)
    )


def test_loading_again_gives_the_same_library() -> None:
    assert load_library() is LIBRARY


def test_digest_is_of_all_bytes_and_moves_with_the_own_file(tmp_path: Path) -> None:
    contents = [(materials.SHIPPED / f"{group}.toml").read_bytes() for group in GROUPS]
    assert LIBRARY.digest == hashlib.sha256(b"\0".join(contents)).hexdigest()
    text = f'[plastics.ASA]\nexpansion = {{ value = "90 ppm/K", spread = "5 ppm/K", {OWN} }}\n'
    own = load_library(write(tmp_path, text))
    again = load_library(write(tmp_path, text))
    other = load_library(write(tmp_path, text + "\n"))
    assert own.digest == again.digest
    assert len({LIBRARY.digest, own.digest, other.digest}) == 3


def test_one_number_is_laid_over_the_shipped_entry(tmp_path: Path) -> None:
    text = f'[plastics.ASA]\nexpansion = {{ value = "90 ppm/K", spread = "5 ppm/K", {OWN} }}\n'
    own = load_library(write(tmp_path, text))
    assert own.plastics["ASA"]["expansion"] == Datum(
        90e-6, 5e-6, "measured", "our ring", "3 May", "plastics.ASA.expansion"
    )
    assert not own.plastics["ASA"]["expansion"].weak
    assert own.plastics["ASA"]["modulus"] == LIBRARY.plastics["ASA"]["modulus"]
    assert own.own == ("plastic ASA: expansion",)
    assert LIBRARY.plastics["ASA"]["expansion"].value == 95e-6
    assert LIBRARY.own == ()


def test_a_new_entry_may_be_like_a_known_one(tmp_path: Path) -> None:
    text = (
        '[fibres."our glass"]\nlike = "E-glass"\n'
        f'density = {{ value = "2.60 g/cm^3", spread = "unknown", {OWN} }}\n'
    )
    own = load_library(write(tmp_path, text))
    density = own.fibres["our glass"]["density"]
    assert density.value == pytest.approx(2600.0)
    assert math.isnan(density.spread)
    assert density.weak
    assert own.fibres["our glass"]["poisson"] == LIBRARY.fibres["E-glass"]["poisson"]
    assert own.own == ("fibre our glass: new",)
    width = own.narrowest_tow("our glass", 600e-6)
    assert width == LIBRARY.tows["glass 600"]["narrowest_width"]


def test_the_example_of_the_manual_loads(tmp_path: Path) -> None:
    page = Path(__file__).parents[2] / "docs" / "materials-how.md"
    example = page.read_text(encoding="utf-8").partition("```toml\n")[2].partition("```")[0]
    own = load_library(write(tmp_path, example))
    assert own.own == (
        "plastic ASA: shrink across",
        "resin slow: glass transition",
        "fibre our glass: new",
        "practice print: offset",
    )


def test_practice_takes_a_number_over_and_nothing_new(tmp_path: Path) -> None:
    datum = f'{{ value = "0.02 mm", spread = "0.02 mm", {OWN} }}'
    own = load_library(write(tmp_path, f"[practice.print]\noffset = {datum}\n"))
    assert own.practice["print"]["offset"].value == pytest.approx(2e-5)
    assert own.own == ("practice print: offset",)
    assert "print" in refusal(tmp_path, f"[practice.prnt]\noffset = {datum}\n").remedy
    assert "offset" in refusal(tmp_path, f"[practice.print]\nofset = {datum}\n").remedy


@pytest.mark.parametrize("missing", ["value", "spread", "basis", "source", "where"])
@pytest.mark.parametrize("how", ["absent", "empty"])
def test_a_number_without_one_of_its_five_is_refused(
    tmp_path: Path, missing: str, how: str
) -> None:
    texts = {
        "value": "90 ppm/K",
        "spread": "5 ppm/K",
        "basis": "measured",
        "source": "our ring",
        "where": "3 May",
    }
    texts[missing] = " "
    stated = ", ".join(
        f'{key} = "{text}"' for key, text in texts.items() if how == "empty" or key != missing
    )
    error = refusal(tmp_path, f"[plastics.ASA]\nexpansion = {{ {stated} }}\n")
    assert error.field == f"plastics.ASA.expansion.{missing}"
    assert "missing" in error.reason


@pytest.mark.parametrize(
    ("text", "field", "says"),
    [
        ('[plastics.ASA]\ndensity = "1070 kg/m^3"', "plastics.ASA.density", "not a table"),
        (f'[plastics.ASA]\ndensity = {{ value = 1070, spread = "1 kg/m^3", {OWN} }}',
         "plastics.ASA.density.value", "not a text"),
        (density("ASA", "1070", "1 kg/m^3"),
         "plastics.ASA.density", "no unit"),
        (density("ASA", "1,07 g/cm^3", "1 kg/m^3"),
         "plastics.ASA.density", "comma"),
        (density("ASA", "nan kg/m^3", "1 kg/m^3"),
         "plastics.ASA.density", "finite"),
        (density("ASA", "1.07 kg/m^3", "1 kg/m^3"),
         "plastics.ASA.density", "outside 500 to 5000 kg/m^3"),
        (density("ASA", "5 kg/m^3 +- 1 kg/m^3", "unknown"),
         "plastics.ASA.density", "more than one spread"),
        (density("ASA", "1070 kg/m^3", "-1 kg/m^3"),
         "plastics.ASA.density", "negative"),
        (f'[plastics.ASA]\ndensty = {{ value = "1070 kg/m^3", spread = "1 kg/m^3", {OWN} }}',
         "plastics.ASA", "densty"),
        (f'[plastics.ASA]\ndensity = {{ value = "1070 kg/m^3", spred = "1 kg/m^3", {OWN} }}',
         "plastics.ASA.density", "spred"),
        ('[plastics.ASA]\ndensity = { value = "1070 kg/m^3", spread = "1 kg/m^3", '
         'basis = "guess", source = "x", where = "y" }', "plastics.ASA.density.basis", "guess"),
        ('[plastics.ASA]\ndensity = { value = "1070 kg/m^3", spread = "1 kg/m^3", '
         'basis = "paper", source = "x", where = "y" }', "plastics.ASA.density.basis", "paper"),
        ("[plastic.ASA]", "file", "plastic"),
        ("plastics = 3", "plastics", "not a table"),
        ("[plastics]\nASA = 3", "plastics.ASA", "not a table"),
        ('[plastics.XYZ]\nlike = "ASSA"', "plastics.XYZ", "ASSA"),
        ("[plastics.XYZ]\nlike = 3", "plastics.XYZ", "3"),
        (density("XYZ", "1070 kg/m^3", "1 kg/m^3"),
         "plastics.XYZ", "lacks modulus"),
        (f'[plastics.ASA]\nsmooths_with = {{ words = "acetone", {OWN} }}',
         "plastics.ASA.smooths_with.words", "list"),
        ("[plastics.ASA", "file", "not TOML"),
    ],
)  # fmt: skip
def test_what_cannot_be_understood_is_refused(
    tmp_path: Path, text: str, field: str, says: str
) -> None:
    error = refusal(tmp_path, text)
    assert error.field == field
    assert says in f"{error.reason} {error.remedy}"


def test_files_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    contents = [b"\xff\xfe\x00", b"x" * (MOST_BYTES + 1), b"a = " + b"[" * 5000]
    for content in contents:
        path.write_bytes(content)
        with pytest.raises(MaterialError):
            load_library(path)
    for absent in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(MaterialError, match="cannot be read"):
            load_library(absent)


def test_a_shipped_number_may_not_name_an_unknown_source() -> None:
    file = materials._File("plastics.toml", materials.SHIPPED_BASES)
    datum = {
        "value": "1 mm", "spread": "1 mm", "basis": "paper", "source": "soden", "where": "p. 1",
    }  # fmt: skip
    with pytest.raises(MaterialError, match="soden-1998"):
        file._texts("plastics.ASA.density", datum, tuple(materials.ASKED))


@pytest.mark.parametrize(
    ("name", "offered"),
    [("carbon", '"carbon standard modulus" or "carbon high strength"'), ("e-glas", '"E-glass"')],
)
def test_an_unknown_name_answers_with_the_nearest(name: str, offered: str) -> None:
    with pytest.raises(UnknownMaterialError) as caught:
        LIBRARY.fibres[name]
    assert offered in caught.value.remedy
    assert isinstance(caught.value, KeyError)
    assert isinstance(caught.value, MaterialError)
    assert name in str(caught.value)
    assert name not in LIBRARY.fibres
    assert LIBRARY.fibres.get(name) is None


def test_an_unknown_property_answers_too() -> None:
    with pytest.raises(UnknownMaterialError, match='"expansion"'):
        LIBRARY.plastics["ASA"]["expansoin"]


def test_narrowest_tow_is_the_row_between_rows_and_beyond_them() -> None:
    at_300, at_600 = (LIBRARY.tows[f"glass {tex}"]["narrowest_width"] for tex in (300, 600))
    assert LIBRARY.narrowest_tow("E-glass", 300e-6) is at_300
    assert LIBRARY.narrowest_tow("E-glass", 600e-6) is at_600
    middle = LIBRARY.narrowest_tow("E-glass", (0.5 * (300**0.5 + 600**0.5)) ** 2 * 1e-6)
    assert middle.value == pytest.approx(1.6e-3)
    assert middle.spread == pytest.approx(0.24e-3)
    assert middle.basis == "assumed"
    assert "glass 300 and glass 600" in middle.where
    assert LIBRARY.narrowest_tow("E-glass", 4800e-6).value == pytest.approx(6.0e-3)
    assert LIBRARY.narrowest_tow("E-glass", 75e-6).value == pytest.approx(0.6e-3)
    with pytest.raises(UnknownMaterialError):
        LIBRARY.narrowest_tow("glass", 300e-6)


def test_a_fibre_without_a_known_tow_says_what_to_state(tmp_path: Path) -> None:
    text = '[fibres.basalt]\nlike = "E-glass"\n'
    basalt = dataclasses.replace(LIBRARY, tows=materials.Shelf("tows", {}))
    with pytest.raises(MaterialError, match="narrowest_tow"):
        basalt.narrowest_tow("E-glass", 300e-6)
    assert load_library(write(tmp_path, text)).narrowest_tow("basalt", 300e-6).value == 1.2e-3


def test_numbers_hang_together() -> None:
    for name, fibre in LIBRARY.fibres.items():
        assert fibre["modulus_across"].value <= fibre["modulus_along"].value, name
        own_strain = fibre["strength"].value / fibre["modulus_along"].value
        assert own_strain == pytest.approx(fibre["failure_strain"].value, rel=0.25), name
    for glass in ("E-glass", "S-glass"):
        fibre = LIBRARY.fibres[glass]
        isotropic = fibre["modulus_along"].value / (2.0 * (1.0 + fibre["poisson"].value))
        assert fibre["shear_modulus"].value == pytest.approx(isotropic, rel=0.03)
    for name, plastic in LIBRARY.plastics.items():
        assert plastic["deflection_high"].value < plastic["deflection_low"].value, name
        assert plastic["deflection_low"].value < plastic["glass_transition"].value, name
    for name, resin in LIBRARY.resins.items():
        assert resin["expansion"].value < resin["expansion_rubbery"].value, name
        assert resin["cure_shrinkage"].value < resin["cure_shrinkage_complete"].value, name
    braid = LIBRARY.practice["braid"]
    angles = ["hard_least", "practical_least", "practical_most", "hard_most"]
    assert [braid[f"{name}_angle"].value for name in angles] == sorted(
        braid[f"{name}_angle"].value for name in angles
    )


def test_words_name_what_the_library_holds() -> None:
    for tow in LIBRARY.tows.values():
        assert set(tow.words["fibres"].words) <= set(LIBRARY.fibres)
    for sleeve in LIBRARY.sleeves.values():
        fibre = sleeve.words["fibre"].words[0]
        width = LIBRARY.narrowest_tow(fibre, sleeve["tow"].value).value
        tightest = 2.0**0.5 * math.pi * sleeve["diameter_at_45"].value / sleeve["tows"].value
        assert width < tightest, sleeve.path
