"""`rangeledger status`."""

from __future__ import annotations

from typing import Annotated, Any

import polars as pl
import typer

from pipelines import inbox
from pipelines.commands.common import FormatOption, home_of
from pipelines.printing import Format, print_rows, to_stdout
from warehouse.database import query
from warehouse.home import Home


def status(
    context: typer.Context,
    form: FormatOption = Format.TABLE,
    recent: Annotated[int, typer.Option("--recent", help="How many recent exports to list.")] = 10,
) -> None:
    """Tell what waits, what was loaded and refused, and how fresh the answers are.

    Example:

    \b
    rangeledger status --recent 5
    """
    home = home_of(context)
    facts = home_facts(home)
    if form is not Format.TABLE:
        print_rows(pl.DataFrame([facts]), form)
        return
    console = to_stdout()
    for name, value in facts.items():
        console.print(f"{name.replace('_', ' '):<22}{value}", markup=False)
    if home.database.exists():
        rows = query(
            home,
            "SELECT offered_at, file_name, state, shots, rejected, reason FROM ingest_log "
            f"ORDER BY offered_at DESC, file_name LIMIT {max(recent, 0)}",
        )
        if rows.height:
            print_rows(rows, form, "Offered last")


def home_facts(home: Home) -> dict[str, Any]:
    """State of a home: what waits, what is in the ledger, when it was last loaded and fitted."""
    facts: dict[str, Any] = {
        "home": str(home.root),
        "waiting_in_inbox": len(inbox.waiting(home)),
        "in_quarantine": len(list(home.quarantine.glob("*.reason.txt"))),
    }
    if not home.database.exists():
        return facts | {"published": "nothing yet"}
    return (
        facts
        | query(
            home,
            """
        SELECT (SELECT count(*) FROM shots) AS shots,
               (SELECT count(*) FROM sessions) AS sessions,
               (SELECT count(DISTINCT player) FROM shots) AS players,
               (SELECT count(*) FROM rejected_rows) AS rejected_rows,
               (SELECT max(offered_at) FROM ingest_log) AS last_load,
               (SELECT max(fitted_at) FROM carry_by_club) AS last_fit
        """,
        ).to_dicts()[0]
    )
