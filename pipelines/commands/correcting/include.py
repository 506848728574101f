"""`rangeledger include`."""

from __future__ import annotations

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


def include(
    context: typer.Context,
    session: SessionArgument = None,
    player: SessionPlayerOption = None,
    export: ExportOption = None,
) -> None:
    """Take a session back into the fits, or back an export that was taken out.

    Example:

    \b
    rangeledger include 2026-05-02 --player Tamsin
    """
    home = home_of(context)
    require_one_target(session, player, export)
    if export is not None:
        back, shots = deciding.take_out(home, export, excluded=False)
        typer.echo(f"{back.file_name} counts again: {counted(shots, 'shot')} more.")
        return
    found = find_session(home, str(session), player)
    if not found.excluded:
        typer.echo(f"Session {found.words} counts already.")
        return
    deciding.decide(home, found.session_id, excluded=False)
    typer.echo(f"Session {found.words} counts again.")
