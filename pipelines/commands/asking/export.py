"""`rangeledger export`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import SpreadsheetOption, for_spreadsheets
from rangeledger.pipelines.output.printing import Format, print_rows, rows_as, write_result
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import find_home


def export(
    context: typer.Context,
    player: Annotated[str | None, typer.Option(help="One player; else all.")] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="File to write, or folder for models.json; else standard output."),
    ] = None,
    named_form: Annotated[
        Format | None,
        typer.Option(
            "--format", show_default=False, help="How it is written; else by the file, or as json."
        ),
    ] = None,
    for_spreadsheet: SpreadsheetOption = False,
) -> None:
    """Export the players' models for a simulator: pattern and launch of each club and swing.

    JSON follows the schema schemas/simulator_feed.schema.json; the other formats have a row a
    club and swing with the same names. Units stand in the names.

    Example:

    \b
    rangeledger export --player Tamsin --out tamsin.json
    """
    from rangeledger.pipelines.simulating.simulator_feed import feed_json, feed_of, feed_rows
    from rangeledger.warehouse.pages.bag import all_players, player_named
    from rangeledger.warehouse.published import published

    with published(find_home(context.obj)) as connection:
        names = all_players(connection) if player is None else [player_named(connection, player)]
        feed = feed_of(connection, names)
    form = named_form or _form_of(out)
    if out is not None:
        if form is Format.TABLE:
            raise UsageError("A table is for the screen. Add --format json, csv or parquet.")
        rows = for_spreadsheets(feed_rows(feed), form, requested=for_spreadsheet)
        content = feed_json(feed).encode() if form is Format.JSON else rows_as(rows, form)
        typer.echo(write_result(_file(out, form), content))
    elif form is Format.JSON:
        sys.stdout.write(feed_json(feed))
    else:
        print_rows(for_spreadsheets(feed_rows(feed), form, requested=for_spreadsheet), form)


def _form_of(out: Path | None) -> Format:
    """Format by the ending of a file."""
    ending = out.suffix.lower().removeprefix(".") if out is not None else ""
    return Format(ending) if ending in (Format.CSV, Format.PARQUET) else Format.JSON


def _file(out: Path, form: Format) -> Path:
    """The file to write: the one that was named, or one in the folder that was named."""
    return out / f"models.{form.value}" if out.is_dir() or not out.suffix else out
