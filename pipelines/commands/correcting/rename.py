"""`rangeledger rename`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.running import deciding
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import counted


def rename(
    context: typer.Context,
    name: Annotated[str, typer.Argument(help="A name as exports write it.")],
    player: Annotated[
        str | None, typer.Argument(help="The player that it stands for.", show_default=False)
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Take an earlier renaming back.")] = False,
) -> None:
    """Let another name of a player stand for the player, so that both are one.

    Shots, sessions and fits follow, also of exports to come; what the exports say stays in the
    lake, and --undo parts the two again. Letter case and blanks alone never make two players.

    Example:

    \b
    rangeledger rename "T. Orrelle" "Tamsin Orrelle"
    """
    if undo == (player is not None):
        raise UsageError("Give the name and the player that it stands for, or the name and --undo.")
    renamed = deciding.rename(home_of(context), name, player)
    shots = counted(renamed.shots, "shot")
    if renamed.to is None:
        typer.echo(f"{renamed.player} is a player again, with {shots}.")
    else:
        typer.echo(f"{shots} of {renamed.player} are {renamed.to}'s now. Take it back with --undo.")
