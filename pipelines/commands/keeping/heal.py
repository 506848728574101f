"""`rangeledger heal`."""

from __future__ import annotations

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import to_stderr
from rangeledger.pipelines.running import healing, ledger
from rangeledger.schemas.units import counted


def heal(context: typer.Context) -> None:
    """Make damaged or missing files of the lake anew from the archived originals.

    The exports of their loads are read again and the database is rebuilt. Files that are sound are
    left as they are.

    Example:

    \b
    rangeledger heal
    """
    home = home_of(context)
    with to_stderr().status("reading the lake") as line:
        damages = healing.heal(home)
        if damages:
            ledger.rebuild(home, on_player=lambda p: line.update(f"fitting {p}"))
    for one in damages:
        typer.echo(f"Healed lake/{one.file}, which {one.problem}.")
    typer.echo(f"{counted(len(damages), 'file')} healed." if damages else "Nothing is damaged.")
