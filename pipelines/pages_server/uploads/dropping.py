"""Puts what a browser sends into the inbox: whole, harmlessly named, with a note."""

from __future__ import annotations

import hashlib
import json
import os
import re
import threading
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, BinaryIO

from rangeledger.pipelines.loading.offered import NOTE_SUFFIX, is_export_name
from rangeledger.schemas.errors import StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import sync_folder, write_atomically

# File systems take 255 bytes; a number, an ending and the marks of a half-written file come on top.
_MOST_NAME_BYTES = 160
_BLOCK_BYTES = 1 << 20
_ONE_AT_A_TIME = threading.Lock()


@dataclass(frozen=True, slots=True)
class Dropped:
    """A file that was put into the inbox.

    Parameters
    ----------
    path : pathlib.Path
        Where it lies until it is loaded.
    source_file : str
        SHA-256 of its bytes.
    at : datetime
        When [UTC, without zone].
    """

    path: Path
    source_file: str
    at: datetime


def harmless_name(name: str) -> str:
    """A file name without folders, marks of a hidden file and characters that no name needs.

    Parameters
    ----------
    name : str
        As a browser gives it.

    Returns
    -------
    str
        A name that the inbox takes for an export.
    """
    bare = unicodedata.normalize("NFC", re.split(r"[/\\]", name)[-1])
    printable = (
        "".join(c for c in bare if c.isprintable() and c not in '<>:"|?*').strip().lstrip(".")
    )
    stem, dot, ending = printable.rpartition(".")
    if not dot or len(ending) > 12:
        stem, ending = printable, "csv"
    while len(stem.encode()) > _MOST_NAME_BYTES:
        stem = stem[:-1]
    safe = f"{stem.strip() or 'export'}.{ending}"
    return safe if is_export_name(safe) else f"{safe}.csv"


def drop(home: Home, name: str, stream: BinaryIO, note: Mapping[str, Any]) -> Dropped:
    """Put an export into the inbox, with its note where something is stated.

    Parameters
    ----------
    home : Home
    name : str
        As the browser gives it.
    stream : binary file
        Its bytes, read from the beginning.
    note : mapping
        What the export's note states.

    Returns
    -------
    Dropped

    Raises
    ------
    StorageError
        If the inbox can't be written.
    """
    safe = harmless_name(name)
    mark = f"{threading.get_ident()}.{os.getpid()}"
    temporary = home.inbox / f".{safe}.{mark}.tmp"
    try:
        source_file = _written(stream, temporary)
        at = datetime.now(UTC).replace(tzinfo=None)
        with _ONE_AT_A_TIME:
            place = _placed(temporary, home.inbox / safe, note)
        sync_folder(home.inbox)
    except OSError as error:
        raise StorageError(
            f"The file could not be put into {home.inbox} ({error.strerror}). Space or permission "
            "is needed; then send it again."
        ) from error
    finally:
        temporary.unlink(missing_ok=True)
    return Dropped(place, source_file, at)


def _written(stream: BinaryIO, target: Path) -> str:
    """Write a stream durably, and tell the hash of its bytes."""
    digest = hashlib.sha256()
    with target.open("wb") as out:
        while block := stream.read(_BLOCK_BYTES):
            digest.update(block)
            out.write(block)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()


def _placed(temporary: Path, target: Path, note: Mapping[str, Any]) -> Path:
    """Give a whole file its name: the wanted one, or that with a number where it is taken.

    The note comes first, so that a watcher never sees the export without it. Linking fails where
    another program took the name in between; renaming would overwrite its file.
    """
    number, place = 1, target
    while True:
        note_path = place.with_suffix(NOTE_SUFFIX)
        if not os.path.lexists(place) and not os.path.lexists(note_path):
            if note:
                write_atomically(note_path, note_text(note))
            try:
                os.link(temporary, place)
                return place
            except FileExistsError:
                note_path.unlink(missing_ok=True)
            except OSError:  # a file system without links
                os.replace(temporary, place)
                return place
        number += 1
        place = target.with_name(f"{target.stem} ({number}){target.suffix}")


def note_text(note: Mapping[str, Any]) -> str:
    """A note as TOML.

    Parameters
    ----------
    note : mapping
        Values by canonical name; tables such as [units] come last, as TOML wants it.
    """
    plain = {name: value for name, value in note.items() if not isinstance(value, Mapping)}
    lines = ["# Said on the pages when the export was dropped."]
    lines += [f"{toml_value(name)} = {toml_value(value)}" for name, value in plain.items()]
    for name, table in note.items():
        if isinstance(table, Mapping):
            lines += ["", f"[{toml_value(name)}]"]
            lines += [f"{toml_value(key)} = {toml_value(value)}" for key, value in table.items()]
    return "\n".join(lines) + "\n"


def toml_value(value: Any) -> str:
    """A text, number, truth or date as TOML; JSON's strings are TOML's but for one character."""
    if isinstance(value, date | time):
        return value.isoformat()
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
