"""`rangeledger merge`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import SessionPlayerOption, find_session, home_of
from rangeledger.pipelines.running import arranging
from rangeledger.schemas.errors import UsageError

_SESSION = "A session: its id, the beginning of that, or its day (2026-05-02)."


def merge(
    context: typer.Context,
    session: Annotated[str, typer.Argument(help=_SESSION)],
    other: Annotated[
        str | None, typer.Argument(help="The other session, named alike.", show_default=False)
    ] = None,
    player: SessionPlayerOption = None,
    undo: Annotated[bool, typer.Option("--undo", help="Part what was merged again.")] = False,
) -> None:
    """Make two sessions of a player one visit, as where a long break parted them.

    Shots and fits follow, also from corrected exports. If one of the two is left out of the fits,
    the whole visit is; parted again, each is as it was.

    Example:

    \b
    rangeledger merge 2026-05-02 2026-05-03 --player Tamsin
    """
    if undo == (other is not None):
        raise UsageError("Name two sessions to merge, or one that was merged and --undo.")
    home = home_of(context)
    one = find_session(home, session, player)
    if other is None:
        found = arranging.part(home, one.session_id)
        typer.echo(f"Session {one.words} is parted again: {arranging.told(found)}.")
        return
    found = arranging.merge(home, one.session_id, find_session(home, other, player).session_id)
    left_out = (
        " It is left out of the fits, as one of the two was; 'include' takes it back."
        if found.excluded
        else ""
    )
    typer.echo(
        f"{arranging.told(found)}: {found.sessions[0]}.{left_out} "
        f"Part them with 'rangeledger merge {found.sessions[0]} --undo'."
    )
