"""`rangeledger ingest`."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import polars as pl
import typer
from rangeledger.pipelines.commands.common import FormatOption, home_of
from rangeledger.pipelines.output.printing import READABLE, Format, print_rows, say, to_stderr
from rangeledger.pipelines.reader.recognising.report import Remark
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.running.engine import engine
from rangeledger.schemas.reasons import State
from rangeledger.schemas.units import counted
from rangeledger.warehouse.counting.changes import GivenAgain, given_again
from rangeledger.warehouse.published import published

if TYPE_CHECKING:
    from rangeledger.pipelines.loading.offered import Offered
    from rangeledger.pipelines.loading.outcome import Outcome
    from rangeledger.warehouse.home import Home

_MOST_TOLD, _MOST_REMARKS = 5, 12


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
    offered, passed_over = ledger.offer_paths(home, paths or [])
    tell_passed_over(passed_over)
    if not offered:
        say(_nothing_to_load(home, paths or []))
    noted = {one.path for one in offered if one.note is not None}
    outcomes = load_with_progress(home, offered)
    if outcomes or form is not Format.TABLE:
        print_rows(outcome_rows(outcomes), form, wide=READABLE)
    tell_refusals(home, outcomes)
    tell_replaced(home, outcomes)
    tell_remarks(outcomes)
    tell_late_notes([o for o in outcomes if o.offered.path in noted and not o.left])
    raise typer.Exit(exit_code(outcomes))


def _nothing_to_load(home: Home, paths: Sequence[Path]) -> str:
    """Why nothing is loaded, and what to do."""
    if paths:
        return f"There is no export to load in {', '.join(map(str, paths))}."
    return (
        f"Nothing waits in {home.inbox}. Drop exports there, or name them: "
        "rangeledger ingest session.csv"
    )


def tell_passed_over(files: Mapping[Path, str]) -> None:
    """Say which files were not taken, a line a reason."""
    for why in dict.fromkeys(files.values()):
        names = [file.name for file, reason in files.items() if reason == why]
        rest = f" and {len(names) - 3} more" if len(names) > 3 else ""
        say(f"Passed over ({why}): {', '.join(names[:3])}{rest}")


def load_with_progress(home: Home, offered: Sequence[Offered]) -> list[Outcome]:
    """Load exports with a progress bar on standard error."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    console = to_stderr()
    if not offered:
        ledger.complete(home)
        return []
    bar = Progress(
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), console=console,
        transient=True, disable=not console.is_terminal,
    )  # fmt: skip
    with bar, engine(home):
        row = bar.add_task("starting", total=len(offered))

        def waits(holder: str) -> None:
            bar.update(row, description=f"waiting for process {holder}")
            if bar.disable:
                say(f"Waiting for process {holder}, which writes to this home.")

        return ledger.ingest(
            home,
            offered,
            on_done=lambda _name: bar.update(row, advance=1, description="reading exports"),
            on_wait=waits,
        )


def outcome_rows(outcomes: Sequence[Outcome]) -> pl.DataFrame:
    """One row an export: name, state, shots, rejected, reason."""
    rows = [
        (
            o.offered.file_name,
            o.state.value if o.state else "waits",
            o.shot_count,
            o.rejected_count,
            o.reason,
        )
        for o in outcomes
    ]
    names = ["file_name", "state", "shots", "rejected", "reason"]
    return pl.DataFrame(rows, schema=names, orient="row")


def tell_refusals(home: Home, outcomes: Sequence[Outcome]) -> None:
    """Say where refused exports and rejected rows can be found."""
    if any(not o.left and o.state is State.QUARANTINED for o in outcomes):
        say(f"Refused exports and how to put them right: {home.quarantine}")
    if any(not o.left and o.state is State.LOADED_WITH_REJECTS for o in outcomes):
        say(
            'Rows not accepted: rangeledger sql "SELECT file_name, source_row, reason '
            'FROM rejected_rows"'
        )


def tell_replaced(home: Home, outcomes: Sequence[Outcome]) -> None:
    """Say which exports hold shots that other exports hold too, which counts, and what changed."""
    loaded = [o.source_file for o in outcomes if not o.left and o.is_loaded]
    if not loaded or not home.database.exists():
        return
    with published(home) as connection:
        again = given_again(connection, loaded)
        names = dict(connection.execute(_NAMES).fetchall())
    for told in again[:_MOST_TOLD]:
        say(_in_words(told, names, told.later_file in loaded))
    if len(again) > _MOST_TOLD:
        say('More such exports: rangeledger sql "FROM ingest_log WHERE replaced > 0"')


_NAMES = "SELECT source_file, arg_max(file_name, offered_at) FROM ingest_log GROUP BY ALL"


def _in_words(told: GivenAgain, names: Mapping[str, str], newest: bool) -> str:
    """A sentence on shots that two exports hold."""
    later, former = names[told.later_file], names[told.former_file]
    shots = counted(told.shots, "shot")
    changes = f" ({'; '.join(told.changes)})" if told.changes else ""
    if not newest:
        return (
            f"{former} gives {shots} of {later} again, which is newer; each counts once, as in "
            f"{later}. To count the other: rangeledger prefer {_hint(former, later, told)}"
        )
    source, which = (f"an earlier {former}", "this") if former == later else (former, later)
    return f"{later} gives {shots} of {source} again; each counts once, as in {which}{changes}."


def _hint(former: str, later: str, told: GivenAgain) -> str:
    """What names an export on the command line."""
    return told.former_file[:12] if former == later else shlex.quote(former)


def tell_remarks(outcomes: Sequence[Outcome]) -> None:
    """Say what the load noticed about the exports that it took."""
    told = [
        f"{o.offered.file_name}: {Remark(*remark)}"
        for o in outcomes
        if o.is_loaded
        for remark in o.remarks.select("place", "remark", "settled_by").iter_rows()
    ]
    for sentence in told[:_MOST_REMARKS]:
        say(sentence)
    if len(told) > _MOST_REMARKS:
        more = counted(len(told) - _MOST_REMARKS, "more remark")
        say(f'{more}: rangeledger sql "FROM remarks"')


def tell_late_notes(noted: Sequence[Outcome]) -> None:
    """Say how a note comes to count that came after its export was loaded."""
    late = [o.offered.file_name for o in noted if o.state is State.DUPLICATE]
    if late:
        names = " ".join(shlex.quote(name) for name in late[:_MOST_TOLD])
        say(
            f"Loaded before, so the note with it changes nothing yet; it is kept. To read the "
            f"export again with it: rangeledger reload {names}"
        )


def exit_code(outcomes: Sequence[Outcome]) -> int:
    """Return 1 if some export was quarantined, else 0."""
    return int(any(not o.left and o.state is State.QUARANTINED for o in outcomes))
