"""`rangeledger compare`."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated

import polars as pl
import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.output.neat_table import Shown, print_neat
from rangeledger.pipelines.output.printing import Format, print_message, print_rows, to_stdout
from rangeledger.pipelines.output.selection import selected_shots
from rangeledger.schemas.cautions import HOW_MUCH, MOST_WORTH_HITTING
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import counted

_SELECTION = (
    "key=value, …: player, club, swing, ball, surface, session_id, since (that day and later), "
    "until (before that day)."
)

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
    second: Annotated[
        str | None, typer.Option("--second", help=f"Second way: {_SELECTION}")
    ] = None,
    day: Annotated[
        datetime | None,
        typer.Option(
            "--date",
            formats=["%Y-%m-%d"],
            help="In place of a second way: the first since that day against the first before it.",
        ),
    ] = None,
    form: FormatOption = Format.TABLE,
) -> None:
    """Hold two ways of hitting against each other: swings, balls, dates, clubs.

    Tells which controls distance and direction better, by how much with a 90 % interval, and how
    many more shots each way would need to settle the first. Spreads are those within a session, in
    % of carry; carry is one answer over all clubs that both ways have. What is hit both ways on one
    day is told apart far better than on days of their own. --date holds the shots since a lesson or
    a new club against those before. swing=clock means all clock positions, swing=feel all feel
    labels. Each way stands for itself: name the player in both.

    Example:

    \b
    rangeledger compare --first "player=Ada,ball=premium" --second "player=Ada,ball=range"
    rangeledger compare --first "player=Ada" --date 2026-05-01
    """
    from rangeledger.models.coaching.comparison import compare as compared

    home = home_of(context)
    first, second = _two_ways(first, second, day)
    one, other = selected_shots(home, first), selected_shots(home, second)
    table = compared(one, other)
    _print_shots_needed(table)
    if form is not Format.TABLE:
        print_rows(table, form)
        return
    title = (
        f"First: {first}\nSecond: {second}\n"
        f"First way: {_rests_on(one)}\nSecond way: {_rests_on(other)}"
    )
    print_neat(table, _SHOWN, title)
    for measure, verdict in table.select("measure", "verdict").rows():
        to_stdout().print(f"{measure.capitalize()}: {verdict}.", markup=False, soft_wrap=True)


def _print_shots_needed(table: pl.DataFrame) -> None:
    """How many more shots would settle it, and the caution, in every format on standard error."""
    (needed,) = table.filter(pl.col("measure") == "spread of carry")["more_shots"]
    if not needed:
        return
    if needed > MOST_WORTH_HITTING:
        print_message(
            f"To settle which controls distance better would take about {needed} more shots each "
            "way: the two are so alike that it is not worth settling by hitting."
        )
        return
    print_message(
        f"Hit about {needed} more shots each way to settle which controls distance better."
    )
    print_message(HOW_MUCH)


def _two_ways(first: str, second: str | None, day: datetime | None) -> tuple[str, str]:
    """The two selections, those of a date made from the first."""
    if (second is None) == (day is None):
        raise UsageError("Give either a second way with --second or a day with --date.")
    if day is None:
        return first, str(second)
    return f"{first},since={day.date()}", f"{first},until={day.date()}"


def _rests_on(shots: pl.DataFrame) -> str:
    """How many shots of whom a way has."""
    players = shots["player"].unique().to_list()
    title = players[0] if len(players) == 1 else f"{len(players)} players"
    sessions = counted(shots["session_id"].n_unique(), "session")
    return f"{counted(shots.height, 'shot')} of {title} in {sessions}"
