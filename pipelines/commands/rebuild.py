"""`rangeledger rebuild`."""

from __future__ import annotations

import typer

from pipelines import ledger
from pipelines.commands.common import home_of
from pipelines.fit_faults import in_a_sentence
from pipelines.printing import say, to_stderr
from schemas.units import counted


def rebuild(context: typer.Context) -> None:
    """Make the database anew from the lake; the answers stay the same.

    Example:

    \b
    rangeledger rebuild
    """
    home = home_of(context)
    console = to_stderr()
    with console.status("reading the lake") as line:
        players = ledger.rebuild(home, on_player=lambda p: line.update(f"fitting {p}"))
    typer.echo(f"Rebuilt {home.database} from the lake: {counted(len(players), 'player')} fitted.")
    failed = in_a_sentence(home)
    if failed:
        say(failed)
        raise typer.Exit(3)
