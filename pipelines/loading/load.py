"""The steps of a load, as plain functions: identify, prepare, screen, store, settle.

A load is a batch of exports that are offered together. The order makes it safe to be killed
anywhere: the lake's marker decides, the database follows the lake, and the originals leave the
inbox last. `recover` completes what an interrupted load left undone.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl
from rangeledger.pipelines.loading import growing_files, inbox, staging
from rangeledger.pipelines.loading.export_age import exported_at, modified_at
from rangeledger.pipelines.loading.file_names import place_of, place_text
from rangeledger.pipelines.loading.kept_originals import read_with
from rangeledger.pipelines.loading.offered import Offered, content_hash, stamp_of
from rangeledger.pipelines.loading.outcome import Copy, Left, Outcome, Read, Refused, Unread
from rangeledger.pipelines.loading.read_one import read_one
from rangeledger.pipelines.loading.validation import judge, split_failing, warm_up
from rangeledger.schemas.arrow import (
    OTHER_LINES_SCHEMA,
    REJECTED_SCHEMA,
    REMARKS_SCHEMA,
    shots_polars_schema,
)
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason, State
from rangeledger.warehouse import database, lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.removing.forgetting import complete_forgetting
from rangeledger.warehouse.settings import ReadingDefaults, Settings, read_settings
from rangeledger.warehouse.stores.store import Store, store_of
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection
    from rangeledger.pipelines.loading.readers import Readers

_CHANGED = "It is still being written; it stays in the inbox until it rests."
_PERHAPS_A_PART = "It can't be read as it is and may not be whole yet; it stays in the inbox."


def identify(connection: DuckDBPyConnection, offered: Sequence[Offered]) -> list[Outcome]:
    """Hash the exports of a batch and find those that were loaded before.

    An export that vanished meanwhile is left out.
    """
    found = [outcome for one in offered if (outcome := _identify(one)) is not None]
    loaded = database.loaded_files(connection, [o.source_file for o in found])
    out = database.taken_out_files(connection) if loaded else {}
    first: dict[str, str] = {}
    outcomes: list[Outcome] = []
    for outcome in found:
        source = outcome.source_file
        if isinstance(outcome, Left):
            outcomes.append(outcome)
        elif source in loaded:
            outcomes.append(outcome.loaded_before(loaded[source], taken_out=source in out))
        elif source in first:
            outcomes.append(outcome.copy_of(first[source]))
        else:
            first[source] = outcome.offered.file_name
            outcomes.append(outcome)
    return outcomes


def _identify(offered: Offered) -> Unread | Left | None:
    stamp = stamp_of(offered.path)
    if stamp is None:
        return None
    unknown = Unread(offered=offered, source_file="", stamp=stamp)
    if not os.access(offered.path.parent, os.W_OK | os.X_OK):
        return unknown.stays(
            f"It can't be taken out of {offered.path.parent}: permission to write is needed."
        )
    try:
        return replace(unknown, source_file=content_hash(offered.path))
    except FileNotFoundError:
        return None
    except OSError as error:
        return unknown.stays(f"The machine can't read it at the moment ({error.strerror}).")


def prepare(
    home: Home,
    settings: Settings,
    outcomes: Sequence[Outcome],
    on_done: Callable[[str], None] | None = None,
    readers: Readers | None = None,
) -> list[Outcome]:
    """Read, recognise, normalise and screen each new export of a batch.

    A copy of a refused export is read too, so that its reason names it. Without `readers` this
    process does the reading itself; with them it gets ready to judge what they read meanwhile.
    """
    prepared: list[Outcome] = []
    refused: set[str] = set()
    for outcome in outcomes:
        if isinstance(outcome, Copy) and outcome.source_file in refused:
            outcome = outcome.unread()
        if isinstance(outcome, Unread):
            if readers is not None:
                warm_up()  # while they read
                found = readers.read(settings.reading, outcome.offered)
            else:
                found = read_one(home, settings.reading, outcome.offered)
            outcome = outcome.read(found)
        if isinstance(outcome, Refused):
            refused.add(outcome.source_file)
        prepared.append(outcome)
        if on_done is not None:
            on_done(outcome.offered.file_name)
    return prepared


def screen(home: Home, settings: Settings, outcomes: Sequence[Outcome]) -> list[Outcome]:
    """Pass all shots of a batch through the expectations; failing rows become rejected rows."""
    fresh = [outcome.shots for outcome in outcomes if isinstance(outcome, Read)]
    if not fresh or judge(pl.concat(fresh)).passed:
        return list(outcomes)
    screened = [
        _screened(home, settings, outcome) if isinstance(outcome, Read) else outcome
        for outcome in outcomes
    ]
    refused = {outcome.source_file for outcome in screened if isinstance(outcome, Refused)}
    return [
        outcome.refused(_nothing_kept(outcome))
        if isinstance(outcome, Copy) and outcome.source_file in refused
        else outcome
        for outcome in screened
    ]


def _screened(home: Home, settings: Settings, outcome: Read) -> Outcome:
    """An export whose failing rows are rejected; refused if none is left."""
    kept, failing = split_failing(outcome.shots)
    if not failing.height:
        return outcome
    if not kept.height:
        return outcome.refused(_nothing_kept(outcome))
    export = outcome.export
    if export is None or not export.has_lines:  # they stayed with the process that read it
        export = read_one(home, settings.reading, outcome.offered).export or export
    texts = [export.raw_text_of(row) if export else "" for row in failing["source_row"]]
    raw = failing.with_columns(pl.Series("raw_text", texts, pl.String)).select(
        list(REJECTED_SCHEMA)
    )
    return outcome.with_rows(kept, pl.concat([outcome.rejected, raw]).sort("source_row"))


def _nothing_kept(outcome: Outcome) -> ExportError:
    return ExportError(
        f"No row of {outcome.offered.file_name} is a possible shot. "
        "Look at it with 'rangeledger inspect'.",
        FileReason.ALL_REJECTED.value,
    )


def store(
    home: Home, connection: DuckDBPyConnection, outcomes: Sequence[Outcome]
) -> tuple[lake.Batch | None, list[Outcome]]:
    """Write a batch to the lake, then to the database in one transaction.

    An export whose file has changed since it was read is not taken; it stays in the inbox.

    Returns
    -------
    batch : rangeledger.warehouse.lake.Batch or None
        The committed batch; None if nothing was left to commit.
    outcomes : list of Outcome
        What became of each export.
    """
    place = store_of(home)
    outcomes = _unchanged(place, outcomes)
    with place.alone() as others_added:
        if others_added:
            database.catch_up(home, connection)
            outcomes = _mark_duplicates(connection, outcomes)
        batch = _write(home, place, [o for o in outcomes if not o.left])
    if batch is not None:
        database.catch_up(home, connection)
    return batch, outcomes


def _unchanged(place: Store, outcomes: Sequence[Outcome]) -> list[Outcome]:
    """The exports, those left whose file is another by now, and copies of what is left."""
    checked = [o.stays(left) if (left := _why_left(place, o)) else o for o in outcomes]
    read_now = {o.source_file for o in checked if isinstance(o, Read)}
    why = {o.source_file: o.left for o in reversed(checked) if o.left}
    return [
        o.stays(why[o.source_file])
        if isinstance(o, Copy) and o.source_file in why.keys() - read_now
        else o
        for o in checked
    ]


def _why_left(place: Store, outcome: Outcome) -> str:
    """Why an export stays in the inbox after all; empty if it does not."""
    path = outcome.offered.path
    if stamp_of(path) != outcome.stamp or (
        outcome.is_loaded and not place.keep_original(path, outcome.source_file)
    ):
        return _CHANGED
    if isinstance(outcome, Refused) and outcome.offered.may_grow is not None:
        return _PERHAPS_A_PART
    return ""


def _mark_duplicates(connection: DuckDBPyConnection, outcomes: Sequence[Outcome]) -> list[Outcome]:
    """The exports, duplicates of those that others loaded while these were read."""
    loaded = database.loaded_files(connection, [o.source_file for o in outcomes if o.is_loaded])
    return [
        o.loaded_before(loaded[o.source_file]) if o.is_loaded and o.source_file in loaded else o
        for o in outcomes
    ]


def _write(home: Home, place: Store, outcomes: Sequence[Outcome]) -> lake.Batch | None:
    if not outcomes:
        return None
    defaults = read_settings(home).reading
    numbers = lake.batch_numbers(home)
    batch = lake.Batch(
        number=(numbers[-1] if numbers else 0) + 1,
        loaded_at=datetime.now(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds"),
        offers=tuple(_offer(home, defaults, outcome) for outcome in outcomes),
    )
    place.write_batch(batch, *rows_of([o for o in outcomes if isinstance(o, Read)]))
    return batch


def rows_of(
    exports: Sequence[Read],
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """Shots, rejected rows, other lines and remarks of exports, as a batch holds them."""
    return (
        pl.concat([pl.DataFrame(schema=shots_polars_schema()), *(o.shots for o in exports)]),
        pl.concat([pl.DataFrame(schema=REJECTED_SCHEMA), *(o.rejected for o in exports)]),
        pl.concat([pl.DataFrame(schema=OTHER_LINES_SCHEMA), *(o.other_lines for o in exports)]),
        pl.concat([pl.DataFrame(schema=REMARKS_SCHEMA), *(o.remarks for o in exports)]),
    )


def _offer(home: Home, defaults: ReadingDefaults, outcome: Outcome) -> lake.Offer:
    details: dict[str, Any] = _place(home, outcome.offered.path)
    read = outcome if isinstance(outcome, Read) else None
    export = read.export if read is not None else None
    if export is not None:
        details |= export.summary()
        details |= {"modified_at": modified_at(outcome.stamp), "exported_at": exported_at(export)}
        used = export.mapping_name or ""
        details["read_with"] = read_with(home, defaults, outcome.offered.note, used)
    elif outcome.proposed_mapping:
        details["proposed_mapping"] = outcome.proposed_mapping
    return lake.Offer(
        file_name=outcome.offered.file_name,
        source_file=outcome.source_file,
        state=outcome.state.value if outcome.state else "",
        reason=outcome.reason,
        shots=outcome.shot_count,
        rejected=outcome.rejected_count,
        mapping=(export.mapping_name or "") if export is not None else "",
        seconds=round(outcome.seconds, 4),
        details=details,
        other_lines=read.other_lines.height if read is not None else None,
        remarks=read.remarks.height if read is not None else None,
    )


def _place(home: Home, path: Path) -> dict[str, str]:
    """Where an original lies: in the inbox, or kept already in the archive or in quarantine."""
    if path.is_relative_to(home.inbox):
        return {"inbox": place_text(path.relative_to(home.inbox))}
    return {"kept": str(path.relative_to(home.root))}


def _original(home: Home, offer: lake.Offer) -> Offered:
    """The original of an offer, where it lay when it was read."""
    kept = offer.details.get("kept")
    path = home.root / kept if kept else home.inbox / place_of(str(offer.details["inbox"]))
    return Offered(path, offer.file_name)


def settle(home: Home, batch: lake.Batch | None, outcomes: Sequence[Outcome]) -> None:
    """Move the originals of a committed batch to the archive or to quarantine."""
    if batch is None:
        return
    unchanged = {
        outcome.offered.path
        for outcome in outcomes
        if stamp_of(outcome.offered.path) == outcome.stamp
    }
    for offer in batch.offers:
        _settle_one(home, offer, known_bytes=_original(home, offer).path in unchanged)
    write_atomically(_settled_file(home), str(batch.number))


def _settle_one(home: Home, offer: lake.Offer, *, known_bytes: bool) -> None:
    """Move one original, unless it has gone or its place holds other bytes by now."""
    left = _original(home, offer)
    if stamp_of(left.path) is None or left.path.is_relative_to(home.archive):
        return
    if not known_bytes and content_hash(left.path) != offer.source_file:
        return
    if left.path.is_relative_to(home.quarantine):
        inbox.leave_quarantine(home, left, offer.source_file)
    elif offer.state == State.QUARANTINED:
        mapping = offer.details.get("proposed_mapping")
        inbox.to_quarantine(home, left, offer.reason, mapping)
    else:
        inbox.to_archive(home, left, offer.source_file)


def _settled_file(home: Home) -> Path:
    return home.state / "settled"


def recover(home: Home) -> None:
    """Complete what an interrupted load left undone; call it under the writer lock."""
    complete_forgetting(home, store_of(home).remove)
    lake.sweep(home)
    numbers, settled = lake.batch_numbers(home), _settled_number(home)
    if numbers and settled < numbers[-1]:
        _settle_last_of(home, [number for number in numbers if number > settled])
        write_atomically(_settled_file(home), str(numbers[-1]))
    staging.clear_abandoned(home)
    growing_files.clear(home)


def _settle_last_of(home: Home, numbers: Sequence[int]) -> None:
    """Settle the last load of this home among some; only that one can have been interrupted."""
    place = store_of(home)
    batches = (lake.read_batch(home, number) for number in reversed(numbers))
    batch = next((batch for batch in batches if place.settles(batch)), None)
    if batch is not None:
        for offer in batch.offers:
            _settle_one(home, offer, known_bytes=False)
        inbox.clear_half_written(_places(home, batch))


def _places(home: Home, batch: lake.Batch) -> set[Path]:
    """Folders to which the originals of a batch go."""
    archived = {home.archive / offer.source_file[:2] for offer in batch.offers}
    return {home.quarantine} | archived


def _settled_number(home: Home) -> int:
    try:
        return int(_settled_file(home).read_text())
    except (OSError, ValueError):
        return 0
