"""The steps of a load, as plain functions: look, prepare, screen, store, settle.

A load is a batch of exports that are offered together. The order makes it safe to be killed
anywhere: the lake's marker decides, the database follows the lake, and the originals leave the
inbox last. `recover` completes what an interrupted load left undone.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from pipelines import inbox
from pipelines.faults import fault_log, keep_fault
from pipelines.inbox import Offered
from pipelines.prepare import PreparedExport, prepare_export
from pipelines.validation import judge, split_failing
from schemas.arrow import shots_polars_schema
from schemas.errors import ExportError
from schemas.reasons import FileReason, State
from warehouse import database, lake
from warehouse.home import Home, Settings, write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection


@dataclass(slots=True)
class Outcome:
    """What becomes of one export on its way through a load."""

    offered: Offered
    source_file: str
    export: PreparedExport | None = None
    refusal: ExportError | None = None
    loaded_before_as: str | None = None
    shots: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=shots_polars_schema()))
    rejected: pl.DataFrame = field(
        default_factory=lambda: pl.DataFrame(schema=lake.REJECTED_SCHEMA)
    )
    seconds: float = 0.0

    @property
    def state(self) -> State:
        """State for the ingest log."""
        if self.loaded_before_as is not None:
            return State.DUPLICATE
        if self.refusal is not None:
            return State.QUARANTINED
        return State.LOADED_WITH_REJECTS if self.rejected.height else State.LOADED

    @property
    def reason(self) -> str:
        """Why the export was not loaded, in plain words; empty if it was."""
        if self.loaded_before_as is not None:
            return f"The same bytes were loaded before as {self.loaded_before_as}."
        return f"{self.refusal.code}: {self.refusal}" if self.refusal else ""


def look(connection: DuckDBPyConnection, offered: Sequence[Offered]) -> list[Outcome]:
    """Hash the exports of a batch and find those that were loaded before.

    An export that vanished meanwhile is left out.
    """
    outcomes = [
        Outcome(one, inbox.content_hash(one.path))
        for one in offered
        if one.path.exists() or one.path.is_symlink()
    ]
    seen = database.loaded_files(connection, [o.source_file for o in outcomes])
    for outcome in outcomes:
        outcome.loaded_before_as = seen.get(outcome.source_file)
        seen.setdefault(outcome.source_file, outcome.offered.file_name)
    return outcomes


def prepare(
    home: Home,
    settings: Settings,
    outcomes: Sequence[Outcome],
    on_done: Callable[[str], None] | None = None,
) -> None:
    """Read, recognise, normalise and screen each new export of a batch.

    A refused export's other copies in the same batch are refused with it, not called duplicates.
    """
    refused: dict[str, ExportError] = {}
    for outcome in outcomes:
        if outcome.source_file in refused:
            outcome.loaded_before_as = None
            outcome.refusal = refused[outcome.source_file]
        elif outcome.loaded_before_as is None:
            _prepare_one(home, settings, outcome)
            if outcome.refusal is not None:
                refused[outcome.source_file] = outcome.refusal
        if on_done is not None:
            on_done(outcome.offered.file_name)


def _prepare_one(home: Home, settings: Settings, outcome: Outcome) -> None:
    began = time.perf_counter()
    try:
        outcome.export = prepare_export(
            outcome.offered.path,
            mappings_dir=home.mappings,
            zone=settings.zone,
            note=outcome.offered.note,
            file_name=outcome.offered.file_name,
        )
        outcome.shots = outcome.export.shots
        outcome.rejected = _with_source(outcome.export.rejected, outcome.source_file)
    except ExportError as refusal:
        outcome.refusal = refusal
    except OSError:
        raise
    except Exception as error:  # noqa: BLE001  one export's fault must not hold up the others
        keep_fault(home, error, f"preparing {outcome.offered.file_name}")
        outcome.refusal = ExportError(
            "The program met a fault of its own while reading this export; nothing of it was "
            f"loaded. Report it with the last entry of {fault_log(home)}.",
            FileReason.FAULT.value,
        )
    outcome.seconds = time.perf_counter() - began


def _with_source(rejected: pl.DataFrame, source_file: str) -> pl.DataFrame:
    return rejected.with_columns(pl.lit(source_file).alias("source_file")).select(
        list(lake.REJECTED_SCHEMA)
    )


def screen(outcomes: Sequence[Outcome]) -> None:
    """Pass all shots of a batch through the expectations; failing rows become rejected rows."""
    fresh = [(o, o.export) for o in outcomes if o.export is not None]
    if not fresh or judge(pl.concat([o.shots for o, _ in fresh])).passed:
        return
    for outcome, export in fresh:
        kept, failing = split_failing(outcome.shots)
        texts = [export.raw_text_of(row) for row in failing["source_row"]]
        raw = failing.with_columns(pl.Series("raw_text", texts, pl.String)).select(
            list(lake.REJECTED_SCHEMA)
        )
        outcome.shots = kept
        outcome.rejected = pl.concat([outcome.rejected, raw]).sort("source_row")
        if not kept.height:
            outcome.refusal = ExportError(
                f"No row of {outcome.offered.file_name} is a possible shot. "
                "Look at it with 'rangeledger inspect'.",
                FileReason.ALL_REJECTED.value,
            )


def store(home: Home, connection: DuckDBPyConnection, outcomes: Sequence[Outcome]) -> lake.Batch:
    """Write a batch to the lake, then to the database in one transaction.

    Returns
    -------
    warehouse.lake.Batch
        The committed batch.
    """
    taken = [o for o in outcomes if o.state in (State.LOADED, State.LOADED_WITH_REJECTS)]
    numbers = lake.batch_numbers(home)
    batch = lake.Batch(
        number=(numbers[-1] if numbers else 0) + 1,
        loaded_at=datetime.now(UTC).replace(tzinfo=None).isoformat(timespec="milliseconds"),
        offers=tuple(_offer(home, outcome) for outcome in outcomes),
    )
    schema = shots_polars_schema()
    shots = pl.concat([o.shots for o in taken]) if taken else pl.DataFrame(schema=schema)
    rejected = (
        pl.concat([o.rejected for o in taken])
        if taken
        else pl.DataFrame(schema=lake.REJECTED_SCHEMA)
    )
    lake.write_batch(home, batch, shots, rejected)
    database.catch_up(home, connection)
    return batch


def _offer(home: Home, outcome: Outcome) -> lake.Offer:
    loaded = outcome.state in (State.LOADED, State.LOADED_WITH_REJECTS)
    details: dict[str, Any] = {
        "inbox": str(outcome.offered.path.relative_to(home.inbox)),
    }
    if outcome.export is not None and loaded:
        details |= outcome.export.summary()
    return lake.Offer(
        file_name=outcome.offered.file_name,
        source_file=outcome.source_file,
        state=outcome.state.value,
        reason=outcome.reason,
        shots=outcome.shots.height if loaded else 0,
        rejected=outcome.rejected.height if loaded else 0,
        mapping=(outcome.export.mapping_name or "") if outcome.export and loaded else "",
        seconds=round(outcome.seconds, 4),
        details=details,
    )


def settle(home: Home, batch: lake.Batch, outcomes: Sequence[Outcome]) -> None:
    """Move the originals of a committed batch to the archive or to quarantine."""
    for outcome in outcomes:
        if outcome.refusal is not None and outcome.loaded_before_as is None:
            inbox.to_quarantine(
                home, outcome.offered, outcome.reason, getattr(outcome.refusal, "mapping", None)
            )
        else:
            inbox.to_archive(home, outcome.offered, outcome.source_file)
    write_atomically(_settled_file(home), str(batch.number))


def _settled_file(home: Home) -> Path:
    return home.state / "settled"


def recover(home: Home) -> None:
    """Complete what an interrupted load left undone; call it under the writer lock."""
    lake.sweep(home)
    numbers = lake.batch_numbers(home)
    if numbers and _settled_number(home) < numbers[-1]:
        batch = lake.read_batch(home, numbers[-1])
        for offer in batch.offers:
            _settle_left(home, offer)
        write_atomically(_settled_file(home), str(batch.number))
    inbox.clear_abandoned(home)


def _settled_number(home: Home) -> int:
    try:
        return int(_settled_file(home).read_text())
    except (OSError, ValueError):
        return 0


def _settle_left(home: Home, offer: lake.Offer) -> None:
    path = home.inbox / str(offer.details["inbox"])
    left = Offered(path, offer.file_name)
    if not path.exists() or inbox.content_hash(path) != offer.source_file:
        return
    if offer.state == State.QUARANTINED:
        inbox.to_quarantine(home, left, offer.reason, None)
    else:
        inbox.to_archive(home, left, offer.source_file)
