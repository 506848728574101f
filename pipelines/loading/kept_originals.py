"""Originals that the home keeps, in the archive or in quarantine, and what they were read with.

An original is read with a mapping, a note and settings; when one of these comes late or changes,
reading it again gives other shots.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.loading.offered import Offered, content_hash
from rangeledger.pipelines.reader.recognising.words.mapping_file import mapping_for, read_mappings
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults
from rangeledger.warehouse.stores.store import store_of
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from duckdb import DuckDBPyConnection

REASON = ".reason.txt"
MAPPING = ".mapping.toml"
_NOTE = re.compile(r"^(?P<source>[0-9a-f]{64})(?:\.(?P<number>[0-9]+))?\.note\.toml$")


@dataclass(frozen=True, slots=True)
class KeptOriginal(Offered):
    """An original that the home keeps, with its note wherever that lies."""

    source_file: str = ""
    kept_note: Path | None = None

    @property
    def note(self) -> Path | None:
        """The note that speaks of it now."""
        return self.kept_note


def newest_notes(home: Home) -> dict[str, Path]:
    """The note that was given last for each archived original that has one, by content hash."""
    newest: dict[str, tuple[int, Path]] = {}
    for path in home.archive.glob("*/*.note.toml"):
        match = _NOTE.match(path.name)
        if match:
            place = (int(match["number"] or 1), path)
            newest[match["source"]] = max(newest.get(match["source"], place), place)
    return {source: path for source, (_, path) in newest.items()}


def add_note(home: Home, source_file: str, text: str) -> Path:
    """Give an archived original another note; those given before are kept.

    Parameters
    ----------
    home : Home
    source_file : str
        Content hash of the original.
    text : str
        The note, as TOML.

    Returns
    -------
    pathlib.Path
        Where it now is.
    """
    former = newest_notes(home).get(source_file)
    match = _NOTE.match(former.name) if former else None
    number = f".{int(match['number'] or 1) + 1}" if match else ""
    place = home.archive / source_file[:2] / f"{source_file}{number}.note.toml"
    write_atomically(place, text)
    return place


def loaded_originals(home: Home, names: Mapping[str, str]) -> Iterator[KeptOriginal]:
    """Archived originals of exports that were loaded.

    Parameters
    ----------
    home : Home
    names : mapping of str to str
        File name by content hash.
    """
    notes, store = newest_notes(home), store_of(home)
    for source, name in names.items():
        path = store.original(source)
        if path is not None:
            yield KeptOriginal(path, name, source, notes.get(source))


def refused_originals(home: Home) -> Iterator[KeptOriginal]:
    """Refused exports in quarantine, by name."""
    for reason in sorted(home.quarantine.glob(f"*{REASON}")):
        path = reason.with_name(reason.name.removesuffix(REASON))
        if path.is_file() and not path.is_symlink():
            note = Offered(path, path.name).note
            yield KeptOriginal(path, path.name, content_hash(path), note)


def read_with(home: Home, defaults: ReadingDefaults, note: Path | None, used: str) -> str:
    """What an export was read with, in one short word that changes with it.

    Parameters
    ----------
    home : Home
    defaults : ReadingDefaults
        What the settings say.
    note : Path or None
    used : str
        Name of the mapping file that was used; empty if none was.
    """
    mapping = home.mappings / used if used else None
    parts = [str(defaults), *(_bytes(path) for path in (note, mapping))]
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:16]


def _bytes(path: Path | None) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest() if path is not None else ""
    except OSError:
        return ""


_LOADED = """
    SELECT source_file, arg_max(file_name, batch), arg_max(mapping, batch),
           arg_max(details, batch)
    FROM ledger.offers WHERE starts_with(state, 'loaded') GROUP BY source_file ORDER BY ALL"""


def loaded_names(connection: DuckDBPyConnection) -> dict[str, str]:
    """File name of every export that was loaded, by content hash."""
    return {str(row[0]): str(row[1]) for row in connection.execute(_LOADED).fetchall()}


def read_otherwise(
    home: Home, connection: DuckDBPyConnection, defaults: ReadingDefaults
) -> dict[str, str]:
    """Exports that would be read with another mapping, note or other settings today.

    Returns
    -------
    dict of str to str
        File name by content hash. Of a load of an earlier version only a mapping can be told.
    """
    notes, (mappings, _) = newest_notes(home), read_mappings(home.mappings)
    found = {}
    for source, name, used, text in connection.execute(_LOADED).fetchall():
        details: dict[str, Any] = json.loads(text)
        fits = mapping_for(details.get("columns", {}), mappings)
        today = read_with(home, defaults, notes.get(source), used)
        if (fits.name if fits else "") != used or details.get("read_with", today) != today:
            found[str(source)] = str(name)
    return found
