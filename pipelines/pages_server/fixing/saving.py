"""Puts a refused export right: its mapping is kept, and it is offered again with its fellows."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rangeledger.pipelines.loading.kept_originals import newest_notes
from rangeledger.pipelines.loading.offered import NOTE_SUFFIX
from rangeledger.pipelines.loading.refusals import open_refusals
from rangeledger.pipelines.pages_server.fixing.mapping_text import parse_mapping
from rangeledger.pipelines.pages_server.replies.problems import PageError
from rangeledger.pipelines.pages_server.uploads.dropping import Dropped, drop, harmless_name
from rangeledger.pipelines.reader.recognising.words.mapping_file import heading_set, read_mappings
from rangeledger.schemas.errors import NothingPublishedError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.store import store_of
from rangeledger.warehouse.system.durable_files import write_atomically

if TYPE_CHECKING:
    from rangeledger.pipelines.pages_server.shared.site import Site

_LOADED_SQL = """
    SELECT file_name, json_keys(details, '$.columns')::JSON FROM ingest_log
    WHERE starts_with(state, 'loaded') ORDER BY offered_at DESC"""
_PROPOSED = ".mapping.toml"


def refused_file(home: Home, name: str) -> Path:
    """The refused export of a name.

    Raises
    ------
    PageError
        If there is none, or it was put right already.
    """
    for path in open_refusals(home):
        if path.name == name:
            return path
    raise PageError(
        404, f"There is no refused export named {name}; perhaps it was put right already.",
        ("/inbox", "To the inbox"),
    )  # fmt: skip


def loaded_file(home: Home, source_file: str) -> Path:
    """The kept original of a loaded export.

    Raises
    ------
    PageError
        If there is none.
    """
    path = store_of(home).original(source_file) if source_file.isalnum() else None
    if path is None:
        raise PageError(404, "That export is not kept here.", ("/inbox", "To the inbox"))
    return path


def note_of_refused(path: Path) -> dict[str, Any]:
    """What the note beside a refused export states."""
    try:
        return tomllib.loads(path.with_suffix(NOTE_SUFFIX).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}


def note_of_loaded(home: Home, source_file: str) -> dict[str, Any]:
    """What the note that was given last for a loaded export states."""
    path = newest_notes(home).get(source_file)
    try:
        return tomllib.loads(path.read_text(encoding="utf-8")) if path else {}
    except (OSError, ValueError):
        return {}


def fellows(home: Home, path: Path, headings: list[str]) -> list[Path]:
    """Other refused exports that have the same headings."""
    sought = heading_set(headings)
    return [
        other
        for other in open_refusals(home)
        if other != path and sought and heading_set(_proposed_headings(other)) == sought
    ]


def loaded_fellows(site: Site, headings: list[str]) -> list[str]:
    """Names of loaded exports that have the same headings."""
    sought = heading_set(headings)
    try:
        with site.publications.opened() as connection:
            rows = connection.execute(_LOADED_SQL).fetchall()
    except NothingPublishedError:
        return []
    columns_by_name = {str(name): json.loads(columns or "[]") for name, columns in rows}
    return [
        name
        for name, columns in columns_by_name.items()
        if sought and heading_set(columns) == sought
    ]


def _proposed_headings(path: Path) -> list[str]:
    try:
        text = path.with_name(path.name + _PROPOSED).read_text(encoding="utf-8")
        return parse_mapping(text)[0]
    except (OSError, ValueError):
        return []


def keep_mapping(home: Home, text: str, file_name: str) -> Path:
    """Write a mapping into the home's folder, in place of one for the same headings.

    Returns
    -------
    pathlib.Path
        Where it now is.
    """
    sought = heading_set(parse_mapping(text)[0])
    former = next((one for one in read_mappings(home.mappings)[0] if one.headings == sought), None)
    if former is not None:
        place = home.mappings / former.name
    else:
        place = _free(home.mappings / f"{Path(harmless_name(file_name)).stem}.toml")
    write_atomically(place, text)
    return place


def _free(place: Path) -> Path:
    number, free = 1, place
    while free.exists():
        number += 1
        free = place.with_name(f"{place.stem} ({number}){place.suffix}")
    return free


def reoffer(home: Home, path: Path, note: Mapping[str, Any]) -> Dropped:
    """Put a copy of a refused export into the inbox; the original stays until that is loaded.

    Parameters
    ----------
    home : Home
    path : pathlib.Path
        In quarantine.
    note : mapping
        What its note is to state.
    """
    with path.open("rb") as stream:
        return drop(home, path.name, stream, note)
