"""`rangeledger ingest`."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.result import Result
from rangeledger.pipelines.output.printing import (
    READABLE,
    Format,
    print_message,
    print_rows,
    to_stderr,
)
from rangeledger.pipelines.reader.recognising.words.remark import Remark
from rangeledger.pipelines.service.handing_over import hand_over
from rangeledger.schemas.reasons import State
from rangeledger.schemas.units import counted
from rangeledger.warehouse.system.ending import ended_by_interrupt

if TYPE_CHECKING:
    import polars as pl
    from rangeledger.pipelines.loading.offered import Offered
    from rangeledger.warehouse.counting.changes import Replacement
    from rangeledger.warehouse.home import Home

_MOST_LISTED, _MOST_REMARKS = 5, 12


def ingest(
    context: typer.Context,
    paths: Annotated[
        list[Path] | None,
        typer.Argument(
            readable=False, help="Files and folders; none means what waits in the inbox."
        ),
    ] = None,
    form: FormatOption = Format.TABLE,
) -> None:
    """Load exports and refit what they change.

    What lies in the home's inbox is moved on to archive or quarantine; anything else is copied
    and left where it is. The same bytes are loaded once, whatever their name; a shot that a
    corrected or longer export gives again counts once, as in the newer one: by its own time stamp,
    else by the time its file was last changed, else by its name; 'prefer' chooses another.

    Exit status: 0 all loaded, 1 some export was quarantined, 3 the machine refused.

    Example:

    \b
    rangeledger ingest ~/Downloads/session.csv
    """
    home = home_of(context)
    offered, passed_over = inbox.offer_paths(home, paths or [])
    report_passed_over(passed_over)
    if not offered:
        print_message(_nothing_to_load(home, paths or []))
    noted = {one.path for one in offered if one.note is not None}
    results = load_with_progress(home, offered)
    if results or form is not Format.TABLE:
        print_rows(result_rows(results), form, wide=READABLE)
    report_refusals(home, results)
    report_replaced(home, results)
    report_remarks(results)
    report_late_notes([one for one in results if Path(one.path) in noted])
    raise typer.Exit(exit_code(results))


def _nothing_to_load(home: Home, paths: Sequence[Path]) -> str:
    """Why nothing is loaded, and what to do."""
    if paths:
        return f"There is no export to load in {', '.join(map(str, paths))}."
    return (
        f"Nothing waits in {home.inbox}. Drop exports there, or name them: "
        "rangeledger ingest session.csv"
    )


def report_passed_over(files: Mapping[Path, str]) -> None:
    """Say which files were not taken, a line a reason."""
    for why in dict.fromkeys(files.values()):
        names = [file.name for file, reason in files.items() if reason == why]
        rest = f" and {len(names) - 3} more" if len(names) > 3 else ""
        print_message(f"Passed over ({why}): {', '.join(names[:3])}{rest}")


def load_with_progress(home: Home, offered: Sequence[Offered]) -> list[Result]:
    """Load exports: by the service that watches the home, else here, with a progress bar."""
    results = hand_over(home, offered, meanwhile=_import_for_telling) if offered else None
    if results is not None:
        return results
    with ended_by_interrupt():
        return _loaded_here(home, offered)


def _import_for_telling() -> None:
    """Import what tells a person of a load; nobody waits for it while the service loads."""
    import duckdb  # noqa: F401
    import polars as pl  # noqa: F401
    from rangeledger.warehouse.counting import changes  # noqa: F401


def _loaded_here(home: Home, offered: Sequence[Offered]) -> list[Result]:
    from rangeledger.pipelines.loading.forking import start_helper
    from rangeledger.warehouse.settings import read_settings

    here = bool(offered) and read_settings(home).spread is None
    if here:
        start_helper()
    from rangeledger.pipelines.running import ledger
    from rangeledger.pipelines.running.fits_beside import can_fit_at_once, fitting_beside
    from rangeledger.pipelines.running.telling import telling_engine
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    console = to_stderr()
    if not offered:
        ledger.complete(home)
        return []
    bar = Progress(
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), console=console,
        transient=True, disable=not console.is_terminal,
    )  # fmt: skip
    fitting = fitting_beside() if here and not can_fit_at_once() else nullcontext()
    with bar, telling_engine(home), fitting:
        row = bar.add_task("starting", total=len(offered))

        def waits(holder: str) -> None:
            bar.update(row, description=f"waiting for process {holder}")
            if bar.disable:
                print_message(f"Waiting for process {holder}, which writes to this home.")

        outcomes = ledger.ingest(
            home,
            offered,
            on_done=lambda _name: bar.update(row, advance=1, description="reading exports"),
            on_wait=waits,
        )
    return [Result.of(outcome) for outcome in outcomes]


def result_rows(results: Sequence[Result]) -> pl.DataFrame:
    """One row an export: name, state, shots, rejected, reason."""
    import polars as pl

    rows = [(one.file_name, one.state, one.shots, one.rejected, one.reason) for one in results]
    names = ["file_name", "state", "shots", "rejected", "reason"]
    return pl.DataFrame(rows, schema=names, orient="row")


def report_refusals(home: Home, results: Sequence[Result]) -> None:
    """Say where refused exports and rejected rows can be found."""
    states = {one.state for one in results}
    if State.QUARANTINED in states:
        print_message(f"Refused exports and how to put them right: {home.quarantine}")
    if State.LOADED_WITH_REJECTS in states:
        print_message(
            'Rows not accepted: rangeledger sql "SELECT file_name, source_row, reason '
            'FROM rejected_rows"'
        )


def report_replaced(home: Home, results: Sequence[Result]) -> None:
    """Say which exports hold shots that other exports hold too, which counts, and what changed."""
    from rangeledger.warehouse.counting.changes import replacements
    from rangeledger.warehouse.published import published

    loaded = [one.source_file for one in results if one.is_loaded]
    if not loaded or not home.database.exists():
        return
    with published(home) as connection:
        replaced = replacements(connection, loaded)
        if not replaced:
            return
        names = dict(connection.execute(_NAMES).fetchall())
    for change in replaced[:_MOST_LISTED]:
        print_message(_replaced_sentence(change, names, change.later_file in loaded))
    if len(replaced) > _MOST_LISTED:
        print_message('More such exports: rangeledger sql "FROM ingest_log WHERE replaced > 0"')


_NAMES = "SELECT source_file, arg_max(file_name, offered_at) FROM ingest_log GROUP BY ALL"


def _replaced_sentence(change: Replacement, names: Mapping[str, str], newest: bool) -> str:
    """A sentence on shots that two exports hold."""
    later, former = names[change.later_file], names[change.former_file]
    shots = counted(change.shots, "shot")
    changes = f" ({'; '.join(change.changes)})" if change.changes else ""
    if not newest:
        return (
            f"{former} gives {shots} of {later} again, which is newer; each counts once, as in "
            f"{later}. To count the other: rangeledger prefer {_hint(former, later, change)}"
        )
    source, other = (f"an earlier {former}", "this") if former == later else (former, later)
    return f"{later} gives {shots} of {source} again; each counts once, as in {other}{changes}."


def _hint(former: str, later: str, change: Replacement) -> str:
    """What names an export on the command line."""
    return change.former_file[:12] if former == later else shlex.quote(former)


def report_remarks(results: Sequence[Result]) -> None:
    """Say what the load noticed about the exports that it took."""
    sentences = [f"{one.file_name}: {Remark(*remark)}" for one in results for remark in one.remarks]
    for sentence in sentences[:_MOST_REMARKS]:
        print_message(sentence)
    if len(sentences) > _MOST_REMARKS:
        more = counted(len(sentences) - _MOST_REMARKS, "more remark")
        print_message(f'{more}: rangeledger sql "FROM remarks"')


def report_late_notes(noted: Sequence[Result]) -> None:
    """Say how a note comes to count that came after its export was loaded."""
    late = [one.file_name for one in noted if one.state == State.DUPLICATE]
    if late:
        names = " ".join(shlex.quote(name) for name in late[:_MOST_LISTED])
        print_message(
            f"Loaded before, so the note with it changes nothing yet; it is kept. To read the "
            f"export again with it: rangeledger reload {names}"
        )


def exit_code(results: Sequence[Result]) -> int:
    """Return 1 if some export was quarantined, else 0."""
    return int(any(one.state == State.QUARANTINED for one in results))
