"""Making damaged files of the lake anew from the archived originals."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from rangeledger.pipelines.loading import load
from rangeledger.pipelines.loading.kept_originals import KeptOriginal, newest_notes
from rangeledger.pipelines.loading.offered import content_hash, stamp_of
from rangeledger.pipelines.loading.outcome import Outcome, Read, Unread
from rangeledger.pipelines.loading.read_one import read_one
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
        numbers = sorted({damage.batch for damage in damages})
        if store_of(home).restore(numbers):
            return damages
        for number in numbers:
            _heal_batch(home, settings, lake.read_batch(home, number))
    return damages


def _heal_batch(home: Home, settings: Settings, batch: lake.Batch) -> None:
    notes = newest_notes(home)
    loaded = [place for place, offer in enumerate(batch.offers) if offer.state in _LOADED]
    outcomes = load.screen(
        home, settings, [_reread(home, settings, batch.offers[n], notes) for n in loaded]
    )
    healed: dict[int, Read] = {}
    for place, outcome in zip(loaded, outcomes, strict=True):
        if not isinstance(outcome, Read):
            raise HomeError(_not_as_before(batch.offers[place], outcome.reason))
        healed[place] = outcome
    offers = tuple(
        _updated(offer, healed[place]) if place in healed else offer
        for place, offer in enumerate(batch.offers)
    )
    for path in lake.batch_files(home, batch.number):
        path.unlink()
    rows = load.rows_of(list(healed.values()))
    lake.write_batch(home, replace(batch, offers=offers), *rows)


def _reread(home: Home, settings: Settings, offer: lake.Offer, notes: dict[str, Path]) -> Outcome:
    path = store_of(home).original(offer.source_file)
    if path is None or content_hash(path) != offer.source_file:
        raise HomeError(
            f"The original of {offer.file_name} ({offer.source_file[:12]}) is missing or changed "
            f"in {home.archive}, so its load can't be healed. Restore it from a backup."
        )
    original = KeptOriginal(path, offer.file_name, offer.source_file, notes.get(offer.source_file))
    stamp = stamp_of(path)
    assert stamp is not None
    unread = Unread(offered=original, source_file=offer.source_file, stamp=stamp)
    return unread.read(read_one(home, settings.reading, original))


def _not_as_before(offer: lake.Offer, reason: str) -> str:
    return (
        f"{offer.file_name} is not read as it was when it was loaded ({reason}), so its load can't "
        "be healed. Put back the mapping, note or settings of that time, then run it again."
    )


def _updated(offer: lake.Offer, outcome: Read) -> lake.Offer:
    return replace(
        offer, shots=outcome.shot_count, rejected=outcome.rejected_count,
        other_lines=outcome.other_lines.height, remarks=outcome.remarks.height,
    )  # fmt: skip
