"""`rangeledger compare`."""

from __future__ import annotations

from typing import Annotated

import polars as pl
import typer

from pipelines.commands.common import FormatOption, home_of
from pipelines.neat_table import Shown, print_neat
from pipelines.printing import Format, print_rows, say, to_stdout
from pipelines.selection import selected_shots

_SELECTION = "key=value, …: player, club, swing, ball, surface, session_id, since, until."

_SHOWN = (
    Shown("measure", "measure"),
    Shown("first", "first\n%", ".1f"),
    Shown("second", "second\n%", ".1f"),
    Shown("difference", "difference\n%", "+.1f"),
    Shown("low", "from\n%", "+.1f"),
    Shown("high", "to\n%", "+.1f"),
    Shown("probability_first_better", "first better\nchance in %", ".0f", 100.0),
    Shown("more_shots", "more shots\neach way", ".0f"),
)


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
    print_neat(table, _SHOWN, f"First: {first}\nSecond: {second}")
    for measure, verdict in table.select("measure", "verdict").rows():
        to_stdout().print(f"{measure.capitalize()}: {verdict}.", markup=False, soft_wrap=True)
    (needed,) = table.filter(pl.col("measure") == "spread of carry")["more_shots"]
    if needed:
        say(f"Hit about {needed} more shots each way to settle which controls distance better.")
