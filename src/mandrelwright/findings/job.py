"""What reading the job tells: what stands for what was not stated."""

from __future__ import annotations

from collections.abc import Sequence

from mandrelwright.findings.finding import Finding, Level


def defaults_used(items: Sequence[str]) -> Finding:
    """The job leaves something out and the program's own default stands for it."""
    return Finding(
        "job.defaults-used",
        Level.NOTE,
        f"Defaults stand for what the job leaves out: {', '.join(items)}.",
        "A default is a common value, not yours.",
        ("state those that are different in your shop",),
    )


def library_values(items: Sequence[str]) -> Finding:
    """The job leaves out something measurable and a general value of the library stands for it."""
    return Finding(
        "job.library-values",
        Level.NOTE,
        f"General values stand for what nobody measured here: {', '.join(items)}.",
        "The library's values come with the wide spread of unknown brands and printers.",
        ("measure the one that the fit's ladder blames most, and state it",),
    )


def tow_width_from_library(sleeves: Sequence[str]) -> Finding:
    """A sleeve's jamming limits rest on a tow width that nobody measured."""
    return Finding(
        "job.tow-width-from-library",
        Level.NOTE,
        f"Where {', '.join(sleeves)} jams rests on a tow width from the library.",
        "A sleeve jams when its tows touch; their width when pushed together differs by maker.",
        (
            "push a sleeve together lengthwise until it resists, measure its diameter and the "
            'tows\' width, and write narrowest_tow = "1.9 mm +- 0.2 mm"',
        ),
    )


def own_library(file: str, names: Sequence[str]) -> Finding:
    """The builder's own material file stands before the library."""
    return Finding(
        "job.own-library",
        Level.NOTE,
        f"{file} stands before the library for: {', '.join(names)}.",
        "Results rest on these numbers and their stated basis.",
        ("keep the source of each number with it",),
    )
