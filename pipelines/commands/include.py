"""`rangeledger include`."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines import ledger
from pipelines.commands.common import home_of


def include(
    context: typer.Context,
    session_id: Annotated[str, typer.Argument(help="Session that was left out.")],
) -> None:
    """Take a session back into the fits.

    Example:

    \b
    rangeledger include 1f6c02a4b7d83e59
    """
    ledger.decide(home_of(context), session_id, excluded=False)
    typer.echo(f"Session {session_id} counts again.")
