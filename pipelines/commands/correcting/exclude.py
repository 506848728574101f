"""`rangeledger exclude`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import (
    ExportOption,
    SessionArgument,
    SessionPlayerOption,
    find_session,
    home_of,
    require_one_target,
)
from rangeledger.pipelines.running import deciding
from rangeledger.schemas.units import counted


def exclude(
    context: typer.Context,
    session: SessionArgument = None,
    player: SessionPlayerOption = None,
    export: ExportOption = None,
    why: Annotated[str, typer.Option("--why", help="Your reason, kept with the decision.")] = "",
) -> None:
    """Leave a session out of the fits, or take a loaded export out again.

    The shots of a session that is left out stay in SQL, marked. An export that is taken out counts
    for nothing, as if it had not been loaded; its original and its rows are kept.
    'rangeledger include' takes either back.

    Example:

    \b
    rangeledger exclude 2026-05-02 --player Tamsin --why "new balls that day"
    """
    home = home_of(context)
    require_one_target(session, player, export)
    if export is not None:
        out, shots = deciding.take_out(home, export, excluded=True, why=why)
        typer.echo(
            f"{out.file_name} is taken out: {counted(shots, 'shot')} fewer count. "
            "Take it back with 'include'."
        )
        return
    found = find_session(home, str(session), player)
    if found.excluded and not why:
        typer.echo(f"Session {found.words} is left out already. Take it back with 'include'.")
        return
    deciding.decide(home, found.session_id, excluded=True, why=why)
    typer.echo(f"Session {found.words} is left out of the fits. Take it back with 'include'.")
