"""`rangeledger exclude`."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines import ledger
from pipelines.commands.common import home_of, is_excluded


def exclude(
    context: typer.Context,
    session_id: Annotated[
        str, typer.Argument(help="Session, as in the views sessions and session_flags.")
    ],
    why: Annotated[str, typer.Option("--why", help="Your reason, kept with the decision.")] = "",
) -> None:
    """Leave a session out of the fits; its shots stay in the ledger and in SQL.

    'rangeledger include' takes it back.

    Example:

    \b
    rangeledger exclude 1f6c02a4b7d83e59 --why "new balls that day"
    """
    home = home_of(context)
    if is_excluded(home, session_id) and not why:
        typer.echo(f"Session {session_id} is left out already. Take it back with 'include'.")
        return
    ledger.decide(home, session_id, excluded=True, why=why)
    typer.echo(f"Session {session_id} is left out of the fits. Take it back with 'include'.")
