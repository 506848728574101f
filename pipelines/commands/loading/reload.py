"""`rangeledger reload`."""

from __future__ import annotations

from typing import Annotated

import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.commands.loading.ingest import (
    report_remarks,
    report_replaced,
    result_rows,
)
from rangeledger.pipelines.loading.outcome import Refused
from rangeledger.pipelines.loading.result import Result
from rangeledger.pipelines.output.printing import (
    READABLE,
    Format,
    print_message,
    print_rows,
    to_stderr,
)
from rangeledger.pipelines.running.reloading import ReloadRequest
from rangeledger.pipelines.running.reloading import reload as reload_exports
from rangeledger.schemas.errors import UsageError


def reload(
    context: typer.Context,
    exports: Annotated[
        list[str] | None,
        typer.Argument(help="Names of exports, or the beginnings of their hashes."),
    ] = None,
    everything: Annotated[bool, typer.Option("--all", help="Read every kept export.")] = False,
    form: FormatOption = Format.TABLE,
) -> None:
    """Read exports again under today's mappings, notes and settings.

    The originals are in the archive or in quarantine; the new shots take the place of the former
    ones in one step. Without names: what would be read otherwise today, and what is in quarantine.
    A note that comes late is dropped into the inbox together with its export.

    Exit status: 0 all were read, 1 some export is refused; one that was loaded keeps its shots.

    Example:

    \b
    rangeledger reload visit.csv
    """
    if exports and everything:
        raise UsageError("Name exports, or give --all, not both.")
    home = home_of(context)
    with to_stderr().status("reading") as line:
        outcomes = reload_exports(
            home,
            ReloadRequest(exports or (), everything),
            on_done=lambda name: line.update(f"read {name}"),
        )
    results = [Result.of(outcome) for outcome in outcomes]
    if results or form is not Format.TABLE:
        print_rows(result_rows(results), form, wide=READABLE)
    else:
        print_message("Nothing would be read otherwise today. --all reads everything again.")
    report_replaced(home, results)
    report_remarks(results)
    refused = [o for o in outcomes if isinstance(o, Refused)]
    if any(o.offered.path.is_relative_to(home.archive) for o in refused):
        print_message(
            "An export that can't be read as it should be now keeps the shots that it had."
        )
    raise typer.Exit(int(bool(refused)))
