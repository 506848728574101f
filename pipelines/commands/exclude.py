"""`rangeledger exclude`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import (
    SessionArgument,
    SessionPlayerOption,
    home_of,
    session_meant,
)
from rangeledger.pipelines.running import deciding


def exclude(
    context: typer.Context,
    session: SessionArgument,
    player: SessionPlayerOption = None,
    why: Annotated[str, typer.Option("--why", help="Your reason, kept with the decision.")] = "",
) -> None:
    """Leave a session out of the fits; its shots stay in the ledger and in SQL.

    'rangeledger include' takes it back.

    Example:

    \b
    rangeledger exclude 2026-05-02 --player Tamsin --why "new balls that day"
    """
    home = home_of(context)
    meant = session_meant(home, session, player)
    if meant.excluded and not why:
        typer.echo(f"Session {meant.words} is left out already. Take it back with 'include'.")
        return
    deciding.decide(home, meant.session_id, excluded=True, why=why)
    typer.echo(f"Session {meant.words} is left out of the fits. Take it back with 'include'.")
