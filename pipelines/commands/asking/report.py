"""`rangeledger report`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import LengthUnit
from rangeledger.warehouse.home import find_home


def report(
    context: typer.Context,
    player: Annotated[str | None, typer.Option(help="One player; else all.")] = None,
    card: Annotated[bool, typer.Option("--card", help="Only the pocket cards.")] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="Folder for the pages, made if missing; else reports in the home."),
    ] = None,
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
    rangeledger report --player Tamsin --card
    """
    from rangeledger.pipelines.holes.strokes_file import strokes_table
    from rangeledger.pipelines.output.pages import PageOptions, write_pages

    home = find_home(context.obj)
    options = PageOptions(
        player, out or home.reports, strokes_table(strokes), unit.value, only_cards=card
    )
    for path in write_pages(home, options):
        typer.echo(str(path))
