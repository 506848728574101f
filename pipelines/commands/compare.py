"""`rangeledger compare`."""

from __future__ import annotations

from typing import Annotated

import polars as pl
import typer

from pipelines.commands.common import FormatOption, home_of
from pipelines.printing import Format, print_rows, say
from pipelines.selection import selected_shots

_SELECTION = "key=value, …: player, club, swing, ball, surface, session_id, since, until."


def compare(
    context: typer.Context,
    first: Annotated[str, typer.Option("--first", help=f"First way: {_SELECTION}")],
    second: Annotated[str, typer.Option("--second", help=f"Second way: {_SELECTION}")],
    form: FormatOption = Format.TABLE,
) -> None:
    """Hold two ways of hitting against each other: swings, balls, dates, clubs.

    Tells which controls distance better, by how much with a 90 % interval, and how many more
    shots each way would need to settle it. swing=clock means all clock positions, swing=feel all
    feel labels.

    Example:

    \b
    rangeledger compare --first "player=Ada Brook,ball=premium" --second "ball=range"
    """
    from models.comparison import compare as compared

    home = home_of(context)
    table = compared(selected_shots(home, first), selected_shots(home, second))
    if form is not Format.TABLE:
        print_rows(table, form)
        return
    print_rows(
        table.drop("model_version").rename(
            {"difference": "difference_pct", "low": "from", "high": "to"}
        ),
        form,
        f"First: {first}\nSecond: {second}",
    )
    (needed,) = table.filter(pl.col("measure") == "spread of carry")["more_shots"]
    if needed:
        say(f"Hit about {needed} more shots each way to settle which controls distance better.")
