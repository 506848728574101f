"""`rangeledger forget`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.output.printing import print_message
from rangeledger.pipelines.running import forgetting
from rangeledger.pipelines.service.presence import PAGES, SERVE, WATCH, service_of
from rangeledger.schemas.errors import BusyError, UsageError

if TYPE_CHECKING:
    from rangeledger.warehouse.home import Home

_MOST_LISTED = 5
_SERVICES = {WATCH: "watch", SERVE: "serve", PAGES: "pages"}


def forget(
    context: typer.Context,
    player: Annotated[
        str | None, typer.Option("--player", help="The player, by the whole name.")
    ] = None,
    export: Annotated[
        str | None,
        typer.Option("--export", help="Its name, or the beginning of its hash."),
    ] = None,
    cut_lines: Annotated[
        bool,
        typer.Option("--cut-lines", help="Cut the player's lines out of exports others share."),
    ] = False,
    both: Annotated[
        bool, typer.Option("--both", help="Forget such exports whole, with the others' shots.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask first.")] = False,
) -> None:
    """Remove a player or an export from the home, for good: nothing brings it back.

    Originals, shots, databases, pages, lines in logs and settings, and the flow engine's records
    go; what goes is listed, and the home is searched for what may be left. Offered again, the same
    export is loaded again. Backups, and copies of pages or exports elsewhere, are yours to clear.

    Exit status: 0 it is gone, 1 something is left and named, 2 others share an export.

    Example:

    \b
    rangeledger forget --player "Ada Brook"
    """
    if (player is None) == (export is None) or (cut_lines and both):
        raise UsageError(
            "Give --player NAME or --export FILE; with a player, --cut-lines or --both at most."
        )
    home = home_of(context)
    _refuse_while_services_run(home)
    weighed = (
        forgetting.weigh_player(home, player, cut=cut_lines, both=both)
        if player is not None
        else forgetting.weigh_export(home, str(export))
    )
    if weighed.shared:
        raise UsageError(_shared_sentence(weighed.shared))
    for line in weighed.summary:
        typer.echo(f"- {line}")
    if not yes and not typer.confirm("All this goes for good. Go on?"):
        print_message("Nothing was changed.")
        raise typer.Exit(0)
    left = forgetting.forget(home, weighed)
    if left:
        print_message(f"Still to be found in: {', '.join(str(path) for path in left)}")
        raise typer.Exit(1)
    typer.echo(
        "All this is gone; nothing of it is found in the home any more. "
        "Backups that you made are your own to clear."
    )


def _refuse_while_services_run(home: Home) -> None:
    services = (name for kind, name in _SERVICES.items() if service_of(home, kind))
    running = [f"'rangeledger {name}'" for name in services]
    if running:
        raise BusyError(
            f"Stop {' and '.join(running)} first: nothing may hold a copy of what is forgotten."
        )


def _shared_sentence(shared: list[forgetting.Shared]) -> str:
    few = "; ".join(f"{one.file_name} ({', '.join(one.others)})" for one in shared[:_MOST_LISTED])
    more = f" and {len(shared) - _MOST_LISTED} more" if len(shared) > _MOST_LISTED else ""
    return (
        f"Other players have shots in the same exports: {few}{more}. Nothing was changed. Add "
        "--cut-lines to cut the player's lines out of them, or --both to forget them whole."
    )
