"""`rangeledger include`."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines import ledger
from pipelines.commands.common import home_of, is_excluded


def include(
    context: typer.Context,
    session_id: Annotated[str, typer.Argument(help="Session that was left out.")],
) -> None:
    """Take a session back into the fits.

    Example:

    \b
    rangeledger include 1f6c02a4b7d83e59
    """
    home = home_of(context)
    if is_excluded(home, session_id) is False:
        typer.echo(f"Session {session_id} counts already.")
        return
    ledger.decide(home, session_id, excluded=False)
    typer.echo(f"Session {session_id} counts again.")
