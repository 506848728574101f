"""`rangeledger rebuild`."""

from __future__ import annotations

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import print_message, to_stderr
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.fit_faults import in_a_sentence
from rangeledger.schemas.units import counted


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
        print_message(failed)
        raise typer.Exit(3)
