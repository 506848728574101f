"""`rangeledger fit`."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines import ledger
from pipelines.commands.common import home_of
from pipelines.printing import to_stderr
from schemas.units import counted


def fit(
    context: typer.Context,
    everything: Annotated[bool, typer.Option("--all", help="Refit every player.")] = False,
) -> None:
    """Refit the players whose shots or decisions have changed, and publish.

    Loading does this by itself; it is needed only after settings were edited (--all).

    Example:

    \b
    rangeledger fit --all
    """
    console = to_stderr()
    with console.status("fitting") as line:
        players = ledger.fit(
            home_of(context), everything=everything, on_player=lambda p: line.update(f"fitting {p}")
        )
    typer.echo(
        f"Fitted {counted(len(players), 'player')}." if players else "Every fit is up to date."
    )
