"""What every verb of the command line shares: its arguments, its output, its refusals."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from rich.console import Console

JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="Job file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Machine-readable output.")]
LogPlace = Annotated[
    str | None,
    typer.Option(
        "--log",
        help="Log: a file or URL; beside the job unless given.",
        envvar="MANDRELWRIGHT_LOG",
        show_envvar=True,
    ),
]


def console() -> Console:
    """A terminal that neither colours numbers nor breaks lines."""
    from rich.console import Console

    return Console(highlight=False, soft_wrap=True)


def print_lines(lines: Iterable[str]) -> None:
    """Write lines to the output."""
    for line in lines:
        typer.echo(line)


def print_json(value: object) -> None:
    """Write a value as JSON to the output."""
    typer.echo(json.dumps(value, indent=1, allow_nan=False, ensure_ascii=False))


def refuse_existing(path: Path) -> None:
    """Raise OutputError when something has that name already."""
    from mandrelwright.out.files import OutputError

    if path.exists() or path.is_symlink():
        raise OutputError(path, "already exists", "Choose another name; nothing was overwritten.")


@contextmanager
def errors(as_json: bool) -> Iterator[None]:
    """Turn refusals into a message on the error stream and exit 2."""
    from mandrelwright.job.materials import MaterialError
    from mandrelwright.job.problems import JobError
    from mandrelwright.job.values import InputError
    from mandrelwright.out.files import OutputError
    from mandrelwright.stages.layers import PlanError

    try:
        yield
    except (JobError, InputError, MaterialError, PlanError, OutputError) as error:
        if as_json:
            print_json({"error": str(error)})
        typer.echo(str(error), err=True)
        raise typer.Exit(2) from None
    except KeyboardInterrupt:
        typer.echo("Cancelled; nothing was written.", err=True)
        sys.exit(130)
