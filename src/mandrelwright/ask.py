"""The six questions of ``mw new``, asked in the terminal."""

from __future__ import annotations

from collections.abc import Sequence

import typer

from mandrelwright.job.materials import load_library
from mandrelwright.job.new import ALTITUDES, RECOMMEND, SHAPES, SPEEDS, Answers
from mandrelwright.quantities import QuantityError, read


def ask(name: str) -> Answers:
    """Ask for tube and coupler, shape, antenna, flight, plastic and bed, sleeve."""
    library = load_library()
    typer.echo("Six questions; measures with a unit, as the calipers say, never the nominal size.")
    typer.echo("1  What does it fit?")
    tube = _length("   tube, outside diameter, such as 102.21 mm +- 0.02 mm")
    coupler = _length("   coupler, outside diameter, such as 99.03 mm +- 0.02 mm")
    typer.echo("2  What part?")
    shape = _choose("   shape of the nose", SHAPES)
    length = _length("   length of the nose without its skirt, such as 392 mm")
    antenna = typer.confirm("3  Is an antenna inside?", default=True)
    typer.echo("4  How fast and how high, roughly?")
    speed = _choose("   speed", tuple(SPEEDS))
    altitude = _choose("   altitude", tuple(ALTITUDES))
    typer.echo("5  What prints the mould?")
    plastic = _choose("   plastic", tuple(library.plastics))
    bed = (
        _length("   bed, width", "220 mm"),
        _length("   bed, depth", "220 mm"),
        _length("   height", "240 mm"),
    )
    sleeve = _choose("6  Sleeve on the shelf", (RECOMMEND, *library.sleeves))
    return Answers(
        tube, coupler, shape, length, antenna, speed, altitude, plastic, bed, sleeve, name
    )


def _length(question: str, default: str | None = None) -> str:
    """A length as it was typed; asked again until it can be read."""
    return str(typer.prompt(question, default=default, value_proc=_readable))


def _readable(text: str) -> str:
    try:
        read(text, "length")
    except QuantityError as error:
        raise typer.BadParameter(str(error)) from None
    return text


def _choose(question: str, known: Sequence[str]) -> str:
    """One of the known answers, by its number or its words; anything else is passed on."""
    typer.echo(f"{question}:")
    for number, answer in enumerate(known, start=1):
        typer.echo(f"     {number} {answer}")
    given = str(typer.prompt("  ", default="1")).strip()
    if given.isdigit() and 1 <= int(given) <= len(known):
        return known[int(given) - 1]
    return given
