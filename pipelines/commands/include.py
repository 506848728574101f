"""`rangeledger include`."""

from __future__ import annotations

import typer
from rangeledger.pipelines.commands.common import (
    SessionArgument,
    SessionPlayerOption,
    home_of,
    session_meant,
)
from rangeledger.pipelines.running import deciding


def include(
    context: typer.Context,
    session: SessionArgument,
    player: SessionPlayerOption = None,
) -> None:
    """Take a session back into the fits.

    Example:

    \b
    rangeledger include 2026-05-02 --player Tamsin
    """
    home = home_of(context)
    meant = session_meant(home, session, player)
    if not meant.excluded:
        typer.echo(f"Session {meant.words} counts already.")
        return
    deciding.decide(home, meant.session_id, excluded=False)
    typer.echo(f"Session {meant.words} counts again.")
