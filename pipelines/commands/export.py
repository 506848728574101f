"""`rangeledger export`."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from pipelines.commands.common import FormatOption
from pipelines.printing import Format, print_rows
from warehouse.home import find_home


def export(
    context: typer.Context,
    player: Annotated[str | None, typer.Option(help="One player; else all.")] = None,
    form: FormatOption = Format.JSON,
) -> None:
    """Export the players' models for a simulator: pattern and launch of each club and swing.

    JSON follows the schema schemas/simulator_feed.schema.json; the other formats have a row a
    club and swing with the same names. Units stand in the names.

    Example:

    \b
    rangeledger export --player Tamsin > tamsin.json
    """
    from pipelines.simulator_feed import feed_json, feed_of, feed_rows
    from warehouse.pages.bag import all_players, player_named
    from warehouse.pages.source import published

    with published(find_home(context.obj)) as connection:
        names = [player_named(connection, player)] if player else all_players(connection)
        feed = feed_of(connection, names)
    if form is Format.JSON:
        sys.stdout.write(feed_json(feed))
    else:
        print_rows(feed_rows(feed), form)
