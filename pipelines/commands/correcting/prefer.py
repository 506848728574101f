"""`rangeledger prefer`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import home_of
from rangeledger.pipelines.running import deciding
from rangeledger.schemas.units import counted


def prefer(
    context: typer.Context,
    export: Annotated[
        str, typer.Argument(help="Name of the export, or the beginning of its hash.")
    ],
) -> None:
    """Let one of several exports of the same shots count, though another is newer.

    Of two exports that hold a shot, the newer one counts: by its own time stamp, else by the time
    its file was last changed, else by its name. This chooses the other; to go back, prefer that.

    Example:

    \b
    rangeledger prefer visit.csv
    """
    chosen, replaced = deciding.prefer(home_of(context), export)
    shots = counted(sum(one.shots for one in replaced), "shot")
    changes = [change for one in replaced for change in one.changes]
    suffix = f" ({'; '.join(changes)})" if changes else ""
    typer.echo(f"{shots} count as in {chosen.file_name} from now on{suffix}.")
