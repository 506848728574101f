"""`rangeledger token`."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import polars as pl
import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.output.printing import READABLE, Format, print_message, print_rows
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.access_tokens import make_token, read_access, withdraw_token
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.published import published


class Action(StrEnum):
    """What is to be done with a token."""

    MAKE = "make"
    LIST = "list"
    WITHDRAW = "withdraw"


def token(
    context: typer.Context,
    action: Annotated[Action, typer.Argument(help="What to do.")],
    name: Annotated[
        str | None, typer.Argument(help="Name of the token: who or what uses it.")
    ] = None,
    player: Annotated[
        list[str] | None,
        typer.Option("--player", help="A player that it may see, repeated for several; else all."),
    ] = None,
    form: FormatOption = Format.TABLE,
) -> None:
    """Make, list or withdraw a token with which others ask the server.

    A token is told once, when it is made; the home keeps its hash. Give each program a token of its
    own: turns are shared between tokens, and one can be withdrawn alone. With --player it sees
    these players' shots and fits; of loads and rejected rows, which name files, it sees none.

    Example:

    \b
    rangeledger token make coach-tablet --player "Ada Brook"
    rangeledger token list
    rangeledger token withdraw coach-tablet
    """
    home = home_of(context)
    if action is Action.LIST:
        _list(home, form)
        return
    if name is None:
        raise UsageError(f"Name the token, as in 'rangeledger token {action} coach-tablet'.")
    if action is Action.MAKE:
        players = _known(home, player) if player else None
        typer.echo(make_token(home, name, players))
        print_message("Keep it now: it is not told again.")
    else:
        withdraw_token(home, name)
        typer.echo(f"Withdrawn: {name}. Its connections are closed.")


def _list(home: Home, form: Format) -> None:
    rows = [
        (one.name, "all" if one.players is None else ", ".join(one.players), one.made_at)
        for one in read_access(home)
    ]
    names = {"name": pl.String, "players": pl.String, "made_at": pl.String}
    print_rows(pl.DataFrame(rows, schema=names, orient="row"), form, wide=READABLE)


def _known(home: Home, players: list[str]) -> list[str]:
    """Players by their full names, as a user wrote them."""
    from rangeledger.warehouse.pages.bag import player_among

    with published(home) as connection:
        rows = connection.execute("SELECT DISTINCT player FROM sessions ORDER BY ALL").fetchall()
    names = [str(row[0]) for row in rows]
    return [player_among(names, player) for player in players]
