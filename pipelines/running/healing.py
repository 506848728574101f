"""Making damaged files of the lake anew from the archived originals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import polars as pl
from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.kept import Kept, newest_notes
from rangeledger.pipelines.loading.offered import content_hash, stamp_of
from rangeledger.pipelines.loading.outcome import Outcome
from rangeledger.pipelines.loading.read_one import read_one
from rangeledger.schemas.arrow import (
    OTHER_LINES_SCHEMA,
    REJECTED_SCHEMA,
    REMARKS_SCHEMA,
    shots_polars_schema,
)
from rangeledger.schemas.errors import HomeError
from rangeledger.schemas.reasons import State
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.lake_damage import Damage, lake_damage
from rangeledger.warehouse.settings import Settings, read_settings
from rangeledger.warehouse.stores.store import store_of

_LOADED = (State.LOADED, State.LOADED_WITH_REJECTS)


def heal(home: Home) -> list[Damage]:
    """Read the exports of damaged loads again and write their files anew.

    The load keeps its number and its time; rows are those that today's mappings and notes give.
    The database is to be made anew afterwards.

    Returns
    -------
    list of Damage
        What was healed.

    Raises
    ------
    HomeError
        If an original is missing or is not read as it was; files healed until then stay so.
    """
    settings = read_settings(home)
    with store_of(home).turn():
        damages = lake_damage(home, everything=True)
        for number in sorted({damage.batch for damage in damages}):
            _heal_batch(home, settings, lake.read_batch(home, number))
    return damages


def _heal_batch(home: Home, settings: Settings, batch: lake.Batch) -> None:
    notes = newest_notes(home)
    outcomes = {
        place: _read_again(home, settings, offer, notes)
        for place, offer in enumerate(batch.offers)
        if offer.state in _LOADED
    }
    load.screen(home, settings, list(outcomes.values()))
    for place, outcome in outcomes.items():
        if not outcome.shot_count:
            raise HomeError(_not_as_before(batch.offers[place], outcome.reason))
    offers = tuple(
        _updated(offer, outcomes[place]) if place in outcomes else offer
        for place, offer in enumerate(batch.offers)
    )
    _write(home, replace(batch, offers=offers), list(outcomes.values()))


def _read_again(
    home: Home, settings: Settings, offer: lake.Offer, notes: dict[str, Path]
) -> Outcome:
    path = store_of(home).original(offer.source_file)
    if path is None or content_hash(path) != offer.source_file:
        raise HomeError(
            f"The original of {offer.file_name} ({offer.source_file[:12]}) is missing or changed "
            f"in {home.archive}, so its load can't be healed. Restore it from a backup."
        )
    kept = Kept(path, offer.file_name, offer.source_file, notes.get(offer.source_file))
    stamp = stamp_of(path)
    assert stamp is not None
    outcome = Outcome(kept, offer.source_file, stamp)
    outcome.take(read_one(home, settings.reading, kept))
    return outcome


def _not_as_before(offer: lake.Offer, reason: str) -> str:
    return (
        f"{offer.file_name} is not read as it was when it was loaded ({reason}), so its load can't "
        "be healed. Put back the mapping, note or settings of that time, then run it again."
    )


def _updated(offer: lake.Offer, outcome: Outcome) -> lake.Offer:
    return replace(
        offer, shots=outcome.shot_count, rejected=outcome.rejected_count,
        other_lines=outcome.other_lines.height, remarks=outcome.remarks.height,
    )  # fmt: skip


def _write(home: Home, batch: lake.Batch, outcomes: Sequence[Outcome]) -> None:
    """Put the files of a batch anew; a file that it has no more is removed."""
    for path in lake.batch_files(home, batch.number):
        path.unlink()
    lake.write_batch(
        home,
        batch,
        pl.concat([pl.DataFrame(schema=shots_polars_schema()), *(o.shots for o in outcomes)]),
        pl.concat([pl.DataFrame(schema=REJECTED_SCHEMA), *(o.rejected for o in outcomes)]),
        pl.concat([pl.DataFrame(schema=OTHER_LINES_SCHEMA), *(o.other_lines for o in outcomes)]),
        pl.concat([pl.DataFrame(schema=REMARKS_SCHEMA), *(o.remarks for o in outcomes)]),
    )
