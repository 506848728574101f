"""`rangeledger status`."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

import polars as pl
import typer

from pipelines import inbox
from pipelines.commands.common import FormatOption, home_of
from pipelines.fit_faults import in_a_sentence
from pipelines.printing import READABLE, Format, cell_text, print_rows, to_stdout
from pipelines.refusals import open_refusals
from pipelines.service.presence import SERVE, service_of
from warehouse.database import query
from warehouse.home import Home
from warehouse.lake import batch_numbers

_MOST_NAMED = 5


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
        console.print(f"{name.replace('_', ' '):<22}{cell_text(value)}", markup=False)
    if still := open_refusals(home):
        names = ", ".join(path.name for path in still[:_MOST_NAMED])
        more = f" and {len(still) - _MOST_NAMED} more" if len(still) > _MOST_NAMED else ""
        told = f"To put right or delete, reasons in {home.quarantine}: {names}{more}"
        console.print(told, markup=False, soft_wrap=True)
    if home.database.exists():
        rows = query(
            home,
            "SELECT offered_at, file_name, state, shots, rejected, reason FROM ingest_log "
            f"ORDER BY offered_at DESC, file_name LIMIT {max(recent, 0)}",
        )
        if rows.height:
            print_rows(rows, form, "Offered last", READABLE)


def home_facts(home: Home) -> dict[str, Any]:
    """State of a home: what waits, who works, what is in the ledger and how fresh it is."""
    facts: dict[str, Any] = {
        "home": str(home.root),
        "waiting_in_inbox": len(inbox.waiting(home)),
        "notes_without_export": len(inbox.orphan_notes(home)),
        "in_quarantine": len(open_refusals(home)),
        **_services(home),
    }
    if not home.database.exists():
        return facts | {"published": "nothing yet"}
    published = datetime.fromtimestamp(home.database.stat().st_mtime, UTC).replace(tzinfo=None)
    failed = in_a_sentence(home)
    if failed:
        facts["failed_fits"] = failed
    facts["published_at"] = published.isoformat(sep=" ", timespec="seconds")
    facts |= query(
        home,
        """
        SELECT (SELECT count(*) FROM shots) AS shots,
               (SELECT count(*) FROM sessions) AS sessions,
               (SELECT count(DISTINCT player) FROM shots) AS players,
               (SELECT count(*) FROM rejected_rows) AS rejected_rows,
               (SELECT max(offered_at) FROM ingest_log) AS last_load,
               (SELECT max(fitted_at) FROM carry_by_club) AS last_fit,
               (SELECT count(*) FROM ledger.batches) AS published_loads
        """,
    ).to_dicts()[0]
    # All views are published together, so one number tells how far all of them lag.
    facts["loads_not_published"] = len(batch_numbers(home)) - facts.pop("published_loads")
    return facts


def _services(home: Home) -> dict[str, str]:
    watching, serving = service_of(home), service_of(home, SERVE)
    facts = {"watched_by": "nobody", "served_by": "nobody"}
    if watching is not None:
        facts["watched_by"] = f"process {watching.pid} since {watching.since}, {watching.doing}"
        if watching.problem:
            facts["problem"] = watching.problem
    if serving is not None:
        where = f" at {serving.address}" if serving.address else ""
        facts["served_by"] = f"process {serving.pid} since {serving.since}{where}"
    return facts
