"""`rangeledger report`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipelines.commands.target import LengthUnit
from warehouse.home import find_home


def report(
    context: typer.Context,
    player: Annotated[str | None, typer.Option(help="One player; else all.")] = None,
    out: Annotated[Path, typer.Option(help="Folder for the pages; made if missing.")] = Path(
        "reports"
    ),
    strokes: Annotated[
        Path | None, typer.Option(help="Own table of strokes to hole out (.csv or .toml).")
    ] = None,
    unit: Annotated[LengthUnit, typer.Option(help="Unit of lengths.")] = LengthUnit.YARDS,
) -> None:
    """Write a report and a pocket card for each player, and an overview of all.

    Pages are single HTML files that need no network; the card comes as PDF too, one sheet of A4
    to fold twice. The names of the files are printed.

    Example:

    \b
    rangeledger report --player Tamsin --out pages
    """
    from pipelines.pages import write_pages

    for path in write_pages(find_home(context.obj), player, out, strokes, unit.value):
        typer.echo(str(path))
