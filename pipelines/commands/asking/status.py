"""`rangeledger status`."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated, Any

import polars as pl
import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.kept_originals import read_otherwise
from rangeledger.pipelines.loading.refusals import open_refusals
from rangeledger.pipelines.output.printing import READABLE, Format, cell_text, print_rows, to_stdout
from rangeledger.pipelines.running.fit_faults import in_a_sentence
from rangeledger.pipelines.service.presence import SERVE, service_of
from rangeledger.schemas.units import counted
from rangeledger.warehouse.asking import query
from rangeledger.warehouse.counting.alike_names import alike_names
from rangeledger.warehouse.database import taken_out_files
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake import batch_numbers
from rangeledger.warehouse.published import published
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.unnamed_monitors import unnamed_layouts

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

_MOST_LISTED = 5
_MOST_LAYOUTS = 3
# What is published, and how it is counted.
_PUBLISHED = {
    "published_at": "",
    "shots": "SELECT count(*) FROM shots",
    "sessions": "SELECT count(*) FROM sessions",
    "sessions_left_out": "SELECT count(*) FROM sessions WHERE excluded",
    "sessions_moved": "SELECT count(*) FROM sessions WHERE moved",
    "sessions_merged": "SELECT count(*) FROM sessions WHERE merged > 1",
    "players": "SELECT count(DISTINCT player) FROM shots",
    "rejected_rows": "SELECT count(*) FROM rejected_rows",
    "remarks": "SELECT count(*) FROM remarks",
    "last_load": "SELECT max(offered_at) FROM ingest_log",
    "last_fit": "SELECT max(fitted_at) FROM carry_by_club",
    "loads_published": "SELECT count(*) FROM ledger.batches",
}
_NOTICED_LAST = """
    SELECT file_name, place, remark, settled_by FROM remarks
    WHERE source_file IN (
        SELECT source_file FROM ingest_log
        WHERE offered_at = (SELECT max(offered_at) FROM ingest_log) AND starts_with(state, 'loaded')
    )
    LIMIT 12"""
# What a user decided on sessions: which, what that is called, and what takes it back.
_DECIDED = (
    ("excluded", "Left out, so that no fit counts them", "take one back: rangeledger include"),
    ("moved", "Moved here from another player", "take one back: rangeledger move --undo"),
    ("merged > 1", "Merged of several visits", "part one again: rangeledger merge --undo"),
)
_TYPES: dict[str, Any] = {
    **dict.fromkeys(("published_at", "last_load", "last_fit"), pl.Datetime("us")),
    **dict.fromkeys(
        (
            "shots",
            "sessions",
            "sessions_left_out",
            "sessions_moved",
            "sessions_merged",
            "players",
            "rejected_rows",
            "remarks",
        ),
        pl.Int64,
    ),
    **dict.fromkeys(("problem", "failed_fits"), pl.String),
}


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
        print_rows(pl.DataFrame([facts], schema_overrides=_TYPES), form)
        return
    console = to_stdout()
    for name, value in facts.items():
        if value is not None:
            console.print(f"{name.replace('_', ' '):<22}{cell_text(value)}", markup=False)
    if facts["published_at"] is None:
        console.print(f"{'published at':<22}nothing yet", markup=False)
    if still := open_refusals(home):
        names = ", ".join(path.name for path in still[:_MOST_LISTED])
        more = f" and {len(still) - _MOST_LISTED} more" if len(still) > _MOST_LISTED else ""
        sentence = f"To put right or delete, reasons in {home.quarantine}: {names}{more}"
        console.print(sentence, markup=False, soft_wrap=True)
    for sentence in _to_do(home):
        console.print(sentence, markup=False, soft_wrap=True)
    if home.database.exists():
        rows = query(
            home,
            "SELECT offered_at, file_name, state, shots, replaced, rejected, other_lines, remarks, "
            "reason "
            "FROM ingest_log "
            f"ORDER BY offered_at DESC, file_name LIMIT {max(recent, 0)}",
        )
        if rows.height:
            print_rows(rows, form, "Offered last", READABLE)
        noticed = query(home, _NOTICED_LAST)
        if noticed.height:
            print_rows(noticed, form, "Noticed by the last load", READABLE)


def _to_do(home: Home) -> Iterator[str]:
    """Exports that would be read otherwise, what was left out or arranged, names, monitors."""
    if not home.database.exists():
        return
    with published(home) as connection:
        otherwise = read_otherwise(home, connection, read_settings(home).reading)
        rows = connection.execute("SELECT DISTINCT player FROM sessions ORDER BY ALL").fetchall()
        layouts = unnamed_layouts(connection, home)
        out = sorted(taken_out_files(connection).values())
        decided = list(_decided(connection))
    if otherwise:
        names = list(dict.fromkeys(otherwise.values()))
        more = f" and {len(names) - _MOST_LISTED} more" if len(names) > _MOST_LISTED else ""
        yield (
            "A mapping, a note or settings came or changed after these were read: "
            f"{', '.join(names[:_MOST_LISTED])}{more}. To read them again: rangeledger reload"
        )
    if out:
        more = f" and {len(out) - _MOST_LISTED} more" if len(out) > _MOST_LISTED else ""
        yield (
            f"Taken out, so that nothing of them counts: {', '.join(out[:_MOST_LISTED])}{more}. "
            "To take one back: rangeledger include --export NAME"
        )
    yield from decided
    for one, other in alike_names([str(row[0]) for row in rows])[:_MOST_LISTED]:
        yield (
            f"{one} and {other} may be one player. If so: "
            f"rangeledger rename {shlex.quote(one)} {shlex.quote(other)}"
        )
    for layout, exports, name in layouts[:_MOST_LAYOUTS]:
        share = "shares" if exports == 1 else "share"
        yield (
            f"{counted(exports, 'export')} {share} {layout} (such as {name}): which monitor? "
            f"Name it on the pages under Inbox, or in settings.toml under [monitors] as "
            f'"{layout}" = "..."; then: rangeledger reload'
        )


def _decided(connection: DuckDBPyConnection) -> Iterator[str]:
    """Sessions that were left out, moved or merged, the newest first, by the beginning of the id.

    So many letters of it that no other session begins alike.
    """
    rows = connection.execute("SELECT DISTINCT session_id FROM sessions").fetchall()
    every = [str(row[0]) for row in rows]
    length = next((n for n in range(6, 64) if len({i[:n] for i in every}) == len(every)), 64)
    for condition, what, how in _DECIDED:
        rows = connection.execute(
            "SELECT concat_ws(' ', player, strftime(started_at, '%Y-%m-%d')), session_id "
            f"FROM sessions WHERE {condition} ORDER BY started_at DESC NULLS LAST, session_id"
        ).fetchall()
        named = [f"{words} ({session[:length]})" for words, session in rows]
        if named:
            more = f" and {len(named) - _MOST_LISTED} more" if len(named) > _MOST_LISTED else ""
            yield f"{what}: {', '.join(named[:_MOST_LISTED])}{more}. To {how} SESSION"


def home_facts(home: Home) -> dict[str, Any]:
    """State of a home: what waits, who works, what is in the ledger and how fresh it is.

    The names are always the same; what there is nothing to say of is None.
    """
    facts: dict[str, Any] = {
        "home": str(home.root),
        "waiting_in_inbox": len(inbox.waiting(home)),
        "notes_without_export": len(inbox.orphan_notes(home)),
        "in_quarantine": len(open_refusals(home)),
        **_services(home),
        "failed_fits": in_a_sentence(home) or None,
    }
    facts |= dict.fromkeys(_PUBLISHED)
    if home.database.exists():
        published = datetime.fromtimestamp(home.database.stat().st_mtime, UTC)
        facts["published_at"] = published.replace(tzinfo=None, microsecond=0)
        counts = ", ".join(f"({sql}) AS {name}" for name, sql in _PUBLISHED.items() if sql)
        facts |= query(home, f"SELECT {counts}").to_dicts()[0]
    # All views are published together, so one number tells how far all of them lag.
    facts["loads_not_published"] = len(batch_numbers(home)) - (facts.pop("loads_published") or 0)
    return facts


def _services(home: Home) -> dict[str, str | None]:
    watching, serving = service_of(home), service_of(home, SERVE)
    facts: dict[str, str | None] = {
        "watched_by": "nobody", "served_by": "nobody", "problem": None,
    }  # fmt: skip
    if watching is not None:
        facts["watched_by"] = f"process {watching.pid} since {watching.since}, {watching.doing}"
        facts["problem"] = watching.problem or None
    if serving is not None:
        where = f" at {serving.address}" if serving.address else ""
        facts["served_by"] = f"process {serving.pid} since {serving.since}{where}"
    return facts
