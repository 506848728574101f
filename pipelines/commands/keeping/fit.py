"""`rangeledger fit`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import print_message, to_stderr
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.fit_faults import in_a_sentence
from rangeledger.schemas.units import counted


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
        print_message(failed)
        raise typer.Exit(3)
