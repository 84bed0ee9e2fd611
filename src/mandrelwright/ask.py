"""The six questions of ``mw new``, asked in the terminal."""

from __future__ import annotations

from collections.abc import Sequence

import typer

from mandrelwright.job.materials import load_library
from mandrelwright.job.new import ALTITUDES, RECOMMEND, SHAPES, SPEEDS, Answers


def ask(name: str) -> Answers:
    """Ask for tube and coupler, shape, antenna, flight, plastic and bed, sleeve."""
    library = load_library()
    typer.echo("Six questions; measures with a unit, as the calipers say, never the nominal size.")
    typer.echo("1  What does it fit?")
    tube = typer.prompt("   tube, outside diameter, such as 102.21 mm +- 0.02 mm")
    coupler = typer.prompt("   coupler, outside diameter, such as 99.03 mm +- 0.02 mm")
    typer.echo("2  What part?")
    shape = _choose("   shape of the nose", SHAPES)
    length = typer.prompt("   length of the nose without its skirt, such as 392 mm")
    antenna = typer.confirm("3  Is an antenna inside?", default=True)
    typer.echo("4  How fast and how high, roughly?")
    speed = _choose("   speed", tuple(SPEEDS))
    altitude = _choose("   altitude", tuple(ALTITUDES))
    typer.echo("5  What prints the mould?")
    plastic = _choose("   plastic", tuple(library.plastics))
    bed = (
        typer.prompt("   bed, width", default="220 mm"),
        typer.prompt("   bed, depth", default="220 mm"),
        typer.prompt("   height", default="240 mm"),
    )
    sleeve = _choose("6  Sleeve on the shelf", (RECOMMEND, *library.sleeves))
    return Answers(
        tube, coupler, shape, length, antenna, speed, altitude, plastic, bed, sleeve, name
    )


def _choose(question: str, known: Sequence[str]) -> str:
    """One of the known answers, by its number or its words; anything else is passed on."""
    typer.echo(f"{question}:")
    for number, answer in enumerate(known, start=1):
        typer.echo(f"     {number} {answer}")
    given = str(typer.prompt("  ", default="1")).strip()
    if given.isdigit() and 1 <= int(given) <= len(known):
        return known[int(given) - 1]
    return given
