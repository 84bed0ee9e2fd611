"""What is written can be read again; no text at all makes reading stumble."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from mandrelwright.job.materials import load_library
from mandrelwright.job.new import ALTITUDES, RECOMMEND, SHAPES, SPEEDS, Answers, new_job
from mandrelwright.job.problems import JobError
from mandrelwright.job.read import read_job
from mandrelwright.job.spec import job_schema
from mandrelwright.job.values import InputError
from mandrelwright.quantities import UNITS, Quantity, QuantityError, pattern, read, show_spread

GOOD = (Path(__file__).parents[1] / "faults" / "job.toml").read_text(encoding="utf-8")
KINDS = sorted(UNITS)
Result = TypeVar("Result")
Refused = TypeVar("Refused", bound=Exception)


def outcome(call: Callable[[], Result], refused: type[Refused]) -> Result | Refused:
    """What a call returns, or the one exception it may raise."""
    try:
        return call()
    except refused as error:
        return error


finite = st.floats(0.0, 1e6, allow_nan=False).map(lambda value: round(value, 6))


@given(st.sampled_from(KINDS), st.data(), finite, finite)
def test_a_quantity_is_read_as_written(
    kind: str, data: st.DataObject, value: float, spread: float
) -> None:
    unit = data.draw(st.sampled_from(sorted(UNITS[kind])))
    factor = float(UNITS[kind][unit])
    text = f"{value:.6f} {unit} +- {spread:.6f} {unit}"
    found = read(text, kind)
    zero = read(f"0 {unit}", kind).value
    assert found.value - zero == pytest.approx(value * factor, rel=1e-12, abs=1e-10)
    assert found.spread == pytest.approx(spread * factor, rel=1e-12)
    assert re.match(pattern(kind), text)


@given(st.floats(-1.0, 1.0), st.floats(1e-6, 1e-2))
def test_a_length_as_shown_is_read_again_to_its_digits(value: float, spread: float) -> None:
    found = read(show_spread(value, spread), "length")
    assert found.value == pytest.approx(value, abs=6e-6)
    assert found.spread == pytest.approx(spread, rel=0.5, abs=6e-6)


@given(st.text(max_size=40), st.sampled_from(KINDS))
def test_any_text_is_a_quantity_or_a_clear_refusal(text: str, kind: str) -> None:
    found = outcome(lambda: read(text, kind), QuantityError)
    assert isinstance(found, Quantity) or (found.reason and found.remedy)


@given(st.from_regex(re.compile(pattern("length"), re.ASCII), fullmatch=True))
def test_what_the_schema_lets_through_is_a_quantity_or_too_long(text: str) -> None:
    assume(len(text) <= 60)
    found = outcome(lambda: read(text, "length"), QuantityError)
    assert isinstance(found, Quantity) or re.search("zero|negative|fraction|printed", found.reason)


@given(st.integers(0, len(GOOD)), st.integers(0, 40), st.text(max_size=8))
@settings(
    max_examples=500,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_a_spoilt_file_is_a_job_or_a_list_of_problems(
    tmp_path: Path, start: int, length: int, new: str
) -> None:
    path = tmp_path / "job.toml"
    content = GOOD[:start] + new + GOOD[start + length :]
    path.write_bytes(content.encode("utf-8", "replace"))
    found = outcome(lambda: read_job(path), JobError)
    if isinstance(found, JobError):
        assert found.problems
        assert all(problem.limit and problem.remedy for problem in found.problems)
        assert str(found).replace("\n", "").isprintable()


answers = st.builds(
    lambda tube, wall, ratio, **rest: Answers(
        tube=f"{tube:.2f} mm +- 0.02 mm",
        coupler=f"{tube - 2.0 * wall:.2f} mm +- 0.02 mm",
        length=f"{ratio * tube:.1f} mm",
        bed=("220 mm", "220 mm", "250 mm"),
        **rest,
    ),
    tube=st.floats(38.0, 160.0),
    wall=st.floats(0.8, 2.5),
    ratio=st.floats(2.0, 7.0),
    shape=st.sampled_from(SHAPES),
    antenna=st.booleans(),
    speed=st.sampled_from(list(SPEEDS)),
    altitude=st.sampled_from(list(ALTITUDES)),
    plastic=st.sampled_from(list(load_library().plastics)),
    sleeve=st.sampled_from([RECOMMEND, *load_library().sleeves]),
    name=st.text("Curlew \"\\'#=[]é", min_size=1, max_size=20).filter(str.strip),
)


@given(answers)
@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_a_new_job_can_always_be_read(tmp_path: Path, answered: Answers) -> None:
    path = tmp_path / "new.toml"
    text = outcome(lambda: new_job(answered), InputError)
    if isinstance(text, InputError):
        assert (text.at, answered.sleeve != RECOMMEND) == (("sleeve",), True)
        return
    path.write_text(text, encoding="utf-8")
    job = read_job(path)
    assert job.part.name == answered.name.strip()
    assert len(job.antennas) == answered.antenna
    fibres = {sleeve.fibre or "" for sleeve in job.sleeves}
    assert not (answered.antenna and any(fibre.startswith("carbon") for fibre in fibres))


TYPED = {
    "schema", "name", "shape", "length", "base", "diameter", "mates", "plastic", "bed", "height",
    "top_speed", "altitude", "library",
}  # fmt: skip


@given(answers)
@settings(max_examples=30, deadline=None)
def test_a_new_job_marks_every_default_and_no_answer(answered: Answers) -> None:
    try:
        text = new_job(answered)
    except InputError:
        return
    for line in text.splitlines():
        key, equals, _ = line.partition(" = ")
        if equals and not line.startswith("#"):
            assert "# default" in line or key in TYPED
    for line in ("plastic =", "mates =", "bed =", "height =", "top_speed =", "altitude ="):
        assert all("# default" not in one for one in text.splitlines() if one.startswith(line))


def test_the_schema_describes_every_key_and_measure() -> None:
    schema = job_schema()
    good = tomllib.loads(GOOD)
    assert set(schema["required"]) <= set(good) <= set(schema["properties"])
    section = schema["$defs"]["Nose"]["properties"]
    assert re.match(section["length"]["pattern"], "392 mm")
    assert not re.match(section["length"]["pattern"], "39,2 mm")
    assert not re.match(section["length"]["pattern"], "392 mm +- 1 mm")
    assert "mm" in section["length"]["description"]
    mates = schema["$defs"]["Bore"]["properties"]["mates"]
    assert re.match(mates["pattern"], "99.03 mm +- 0.02 mm")
    assert "standard uncertainty" in mates["description"]
