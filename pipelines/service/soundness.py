"""Whether a home is sound: each look says what was found and, where it is not, what to do."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from rangeledger.pipelines.loading import inbox, staging
from rangeledger.pipelines.loading.offered import content_hash
from rangeledger.pipelines.running.fit_faults import in_a_sentence
from rangeledger.pipelines.service.presence import service_of
from rangeledger.schemas.errors import RangeledgerError
from rangeledger.schemas.reasons import State
from rangeledger.schemas.units import counted as counted_of
from rangeledger.warehouse import lake, publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.home_version import HOME_VERSION, home_version
from rangeledger.warehouse.lake_damage import in_words, lake_damage
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.stores.store import follows_a_store
from rangeledger.warehouse.who_reads import who_reads

_LEAST_FREE = 200 * 2**20
_MOST_LISTED = 3


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at.

    Attributes
    ----------
    looked_at : str
    ok : bool
    found : str
    to_do : str
        What to do; empty where all is well.
    """

    looked_at: str
    ok: bool
    found: str
    to_do: str = ""


def check_up(home: Home, *, everything: bool = False) -> list[Finding]:
    """Look at everything that a home rests on; changes nothing.

    Parameters
    ----------
    home : Home
    everything : bool
        Whether each file of the lake and the whole published database is read too.
    """
    checks: dict[str, Callable[[Home], Finding]] = {
        "free space": _free_space,
        "permissions": _permissions,
        "settings": _settings,
        "readers": _readers,
        "versions": _versions,
        "lake": partial(_lake, everything=everything),
        "published database": partial(_published, everything=everything),
        "archive": _archive,
        "leftovers": _leftovers,
        "service": _service,
    }
    return [_safely(name, check, home) for name, check in checks.items()]


def _safely(name: str, check: Callable[[Home], Finding], home: Home) -> Finding:
    """A look that fails is a finding too."""
    try:
        return check(home)
    except RangeledgerError as error:
        return Finding(name, False, "can't be read", str(error))
    except OSError as error:
        found = f"the machine refused ({error.strerror or error})"
        return Finding(name, False, found, "Permission or a sound disk is needed.")


def _free_space(home: Home) -> Finding:
    free = shutil.disk_usage(home.root).free
    size = home.ledger.stat().st_size if home.ledger.exists() else 0
    # A publication is a whole copy beside the former one, and a reader may hold one more.
    needed = max(_LEAST_FREE, 3 * size)
    found = f"{free / 2**20:,.0f} MiB free, {needed / 2**20:,.0f} MiB needed"
    return Finding("free space", free >= needed, found, "" if free >= needed else "Free space.")


def _permissions(home: Home) -> Finding:
    access = os.R_OK | os.W_OK | os.X_OK
    barred = [f for f in (home.root, *home.folders) if not os.access(f, access)]
    if not barred:
        return Finding("permissions", True, "all folders can be read and written")
    message = f"no full access to {_few(barred, home)}"
    return Finding("permissions", False, message, "Give yourself read and write permission.")


def _readers(home: Home) -> Finding:
    """Who may read the home; one of an earlier program keeps its modes, which is told."""
    found, stated = who_reads(home), read_settings(home).readers
    readers = {"owner": "its owner alone", "group": "its group", "all": "anybody on this machine"}
    message = f"{readers[found]} may read it"
    if stated is None and found != "owner":
        return Finding("readers", True, message, 'readers = "owner" in settings.toml closes it.')
    if stated is not None and stated != found:
        advice = "Run any command that loads; it opens or closes the home."
        return Finding("readers", False, f"{message}, the settings say {stated}", advice)
    return Finding("readers", True, message)


def _settings(home: Home) -> Finding:
    defaults = read_settings(home).reading
    order = f", dates {defaults.date_order}" if defaults.date_order else ""
    return Finding("settings", True, f"zone {defaults.zone or 'of the machine'}{order}")


def _versions(home: Home) -> Finding:
    found = home_version(home)
    message = f"home {found}, this program knows {HOME_VERSION}"
    return Finding("versions", found == HOME_VERSION, message, _version_advice(found))


def _version_advice(found: int) -> str:
    if found > HOME_VERSION:
        return "Install a newer rangeledger."
    return "" if found == HOME_VERSION else "Run any command that loads; it brings the home up."


def _lake(home: Home, *, everything: bool = False) -> Finding:
    numbers = lake.batch_numbers(home)
    batches = [lake.read_batch(home, number) for number in numbers]
    shots = sum(offer.shots for batch in batches for offer in batch.offers)
    found = f"{len(batches)} loads, {shots} shots"
    gaps = sorted(set(range(1, len(numbers) + 1)) - set(numbers))
    markerless = lake.markerless(home)
    if gaps or markerless:
        missing = (
            f"{found}; markers missing for {len(gaps)} loads, {len(markerless)} files without one"
        )
        return Finding("lake", False, missing, f"Restore {home.lake / 'batches'} from a backup.")
    damages = lake_damage(home, everything=everything)
    if damages:
        message = f"{counted_of(len(damages), 'damaged file')}: {in_words(damages)}"
        return Finding(
            "lake", False, message, "Run 'rangeledger heal': it reads the originals again."
        )
    counted = _rows(lake.shot_files(home, numbers))
    if counted != shots:
        message = f"the markers say {shots} shots, the files hold {counted}"
        return Finding("lake", False, message, f"Restore {home.lake / 'shots'} from a backup.")
    return Finding("lake", True, found)


def _rows(files: list[Path]) -> int:
    import pyarrow.parquet as pq

    return sum(pq.read_metadata(file).num_rows for file in files)


def _published(home: Home, *, everything: bool = False) -> Finding:
    from rangeledger.models.population import POPULATION

    failed = in_a_sentence(home)
    if failed:
        return Finding("published database", False, "lacks fits", failed)
    unreadable = publishing.unreadable(home) if everything else ""
    if unreadable:
        advice = "Run 'rangeledger rebuild'."
        return Finding("published database", False, f"is damaged: {unreadable}", advice)
    if publishing.is_current(home, POPULATION.model_version):
        return Finding("published database", True, "holds every load, decision and fit")
    advice = "Run 'rangeledger ingest'; if it stays so, 'rangeledger rebuild'."
    return Finding("published database", False, "is behind the lake", advice)


def _archive(home: Home) -> Finding:
    sources = {
        offer.source_file
        for number in lake.batch_numbers(home)
        for offer in lake.read_batch(home, number).offers
        if offer.state in (State.LOADED, State.LOADED_WITH_REJECTS)
    }
    originals = {source: archived(home, source) for source in sorted(sources)}
    waiting = {content_hash(one.path) for one in inbox.waiting(home)}
    elsewhere = follows_a_store(home)  # there are originals of other homes in the bucket
    missing = [
        source
        for source, path in originals.items()
        if path is None and source not in waiting and not elsewhere
    ]
    changed = [s for s, path in originals.items() if path is not None and content_hash(path) != s]
    if not missing and not changed:
        return Finding("archive", True, f"{len(sources)} originals, bytes as loaded")
    message = f"{len(missing)} originals missing, {len(changed)} changed: " + ", ".join(
        source[:12] for source in [*missing, *changed][:_MOST_LISTED]
    )
    return Finding(
        "archive",
        False,
        message,
        f"Restore {home.archive} from a backup; the lake has their shots.",
    )


def _leftovers(home: Home) -> Finding:
    left = [
        *(f for f in home.inbox.glob(".offered-*") if staging.abandoned(home, f.name)),
        *home.lake.rglob("*.tmp"),
        *home.state.glob("*.damaged"),
    ]
    notes = inbox.orphan_notes(home)
    if left:
        advice = "Run 'rangeledger ingest': it completes what was interrupted."
        if any(path.suffix == ".damaged" for path in left):
            advice += " A file ending in .damaged may be deleted."
        return Finding("leftovers", False, f"of interrupted work: {_few(left, home)}", advice)
    if notes:
        advice = "Drop the export of the same name beside it, or remove the note."
        return Finding("leftovers", False, f"notes without export: {_few(notes, home)}", advice)
    return Finding("leftovers", True, "none")


def _service(home: Home) -> Finding:
    service = service_of(home)
    if service is None:
        return Finding("service", True, "nobody watches the inbox")
    message = f"process {service.pid} since {service.since} UTC, {service.doing}"
    if service.problem:
        return Finding("service", False, message, service.problem)
    return Finding("service", True, message)


def _few(paths: list[Path], home: Home) -> str:
    names = [str(p.relative_to(home.root)) if p != home.root else str(p) for p in paths]
    more = f" and {len(names) - _MOST_LISTED} more" if len(names) > _MOST_LISTED else ""
    return ", ".join(names[:_MOST_LISTED]) + more
