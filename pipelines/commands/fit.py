"""`rangeledger fit`."""

from __future__ import annotations

from typing import Annotated

import typer

from pipelines import ledger
from pipelines.commands.common import home_of
from pipelines.fit_faults import in_a_sentence
from pipelines.printing import say, to_stderr
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
    home, console = home_of(context), to_stderr()
    with console.status("fitting") as line:
        players = ledger.fit(
            home, everything=everything, on_player=lambda p: line.update(f"fitting {p}")
        )
    failed = in_a_sentence(home)
    if players:
        typer.echo(f"Fitted {counted(len(players), 'player')}.")
    elif not failed:
        typer.echo("Every fit is up to date.")
    if failed:
        say(failed)
        raise typer.Exit(3)
