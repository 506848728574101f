"""`rangeledger move`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import (
    ExportOption,
    SessionArgument,
    SessionPlayerOption,
    find_session,
    home_of,
    known_player,
    require_one_target,
)
from rangeledger.pipelines.running import arranging
from rangeledger.schemas.errors import UsageError
from rangeledger.schemas.units import counted


def move(
    context: typer.Context,
    session: SessionArgument = None,
    to: Annotated[
        str | None, typer.Option("--to", help="Whose it is; the name, or its beginning.")
    ] = None,
    player: SessionPlayerOption = None,
    export: ExportOption = None,
    new: Annotated[
        bool, typer.Option("--new", help="The name is a new player's, who has no shots yet.")
    ] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take an earlier move back.")] = False,
) -> None:
    """Move one session to another player, where it was recorded under a wrong name.

    Its shots and fits follow, also from a corrected or longer export; other sessions of that name
    stay ('rangeledger rename' makes two names one player). What the export says stays in the lake.

    Example:

    \b
    rangeledger move 2026-05-02 --player Tamsin --to Nuria
    """
    if undo == (to is not None):
        raise UsageError("Name the player with --to PLAYER, or take an earlier move back: --undo.")
    home = home_of(context)
    require_one_target(session, player, export)
    goes = None if to is None else to if new else known_player(home, to)
    if export is not None:
        what, found = export, arranging.move_export(home, export, goes)
    else:
        one = find_session(home, str(session), player)
        what, found = f"Session {one.words}", arranging.move_session(home, one.session_id, goes)
    if goes is None:
        typer.echo(f"{what} is {' and '.join(found.players)}'s again: {arranging.told(found)}.")
        return
    typer.echo(
        f"{counted(found.shots, 'shot')} of {' and '.join(found.players)} are {goes}'s now: "
        f"{what}. Take it back with 'rangeledger move {found.sessions[0]} --undo'."
    )
