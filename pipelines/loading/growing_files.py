"""Exports that were loaded while they might still grow, and stay in the inbox for that long.

Who appends to a file by its name must find it there. So a copy of it is loaded and archived; the
file itself goes when nobody has changed it for `PATIENT_S`. If it changes, it is another export.
What is known of such files outlives the process, in `.state/lingering.json`; a line of it counts
once the archive has the bytes.
"""

from __future__ import annotations

import json
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from rangeledger.pipelines.loading.file_names import place_of, place_text
from rangeledger.pipelines.loading.offered import Offered, Stamp, content_hash, stamp_of
from rangeledger.schemas.errors import StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.originals import archived
from rangeledger.warehouse.system.durable_files import write_atomically

# Longer than programs pause that copy a file in pieces. Common practice, no source.
PATIENT_S = 6.0


@dataclass(frozen=True, slots=True)
class _Line:
    """What is known of one file: its place, the content hash of the copy, its stamp."""

    place: str
    source_file: str
    stamp: Stamp


def _file(home: Home) -> Path:
    return home.state / "lingering.json"


def _lines(home: Home) -> list[_Line]:
    try:
        entries = json.loads(_file(home).read_text(encoding="utf-8"))
        return [_Line(one["place"], one["source_file"], Stamp(**one["stamp"])) for one in entries]
    except (OSError, ValueError, TypeError, KeyError):
        return []


def _path(home: Home, line: _Line) -> Path:
    return home.inbox / place_of(line.place)


def _is_as_loaded(home: Home, line: _Line) -> bool:
    unchanged = stamp_of(_path(home, line)) == line.stamp
    return unchanged and archived(home, line.source_file) is not None


def note(home: Home, copies: Iterable[Offered]) -> None:
    """Note files of the inbox whose copies are about to be loaded; call it before the load."""
    known = {line.place: line for line in _lines(home) if stamp_of(_path(home, line))}
    for copy in copies:
        stamp, copied = stamp_of(copy.may_grow or copy.path), stamp_of(copy.path)
        if copy.may_grow is None or stamp is None or copied is None:
            continue
        if (copied.size, copied.modified_ns) == (
            stamp.size,
            stamp.modified_ns,
        ):  # else it has grown
            place = place_text(copy.may_grow.relative_to(home.inbox))
            known[place] = _Line(place, content_hash(copy.path), stamp)
    _write(home, known.values())


def _write(home: Home, lines: Iterable[_Line]) -> None:
    entries = [asdict(line) for line in lines]
    if entries:
        write_atomically(_file(home), json.dumps(entries))
    else:
        _file(home).unlink(missing_ok=True)


def unchanged(home: Home) -> set[Path]:
    """Files of the inbox that are loaded as they are."""
    return {_path(home, line) for line in _lines(home) if _is_as_loaded(home, line)}


def clear(home: Home, at_rest: Iterable[Path] = ()) -> None:
    """Take out of the inbox what is loaded as it is and does not grow any more.

    Parameters
    ----------
    home : Home
    at_rest : iterable of Path
        Files known to be at rest; others are if they have not changed for `PATIENT_S`.
    """
    lines = _lines(home)
    if not lines:
        return
    left, known = [], set(at_rest)
    for line in lines:
        path = _path(home, line)
        if not _is_as_loaded(home, line):
            if stamp_of(path) == line.stamp:
                left.append(line)
        elif path in known or _age_s(path) >= PATIENT_S:
            _remove(home, path, line.source_file)
        else:
            left.append(line)
    if left != lines:
        _write(home, left)


def _age_s(path: Path) -> float:
    try:
        found = path.lstat()
    except OSError:
        return 0.0
    return time.time() - max(found.st_mtime, found.st_ctime)


def _remove(home: Home, path: Path, source_file: str) -> None:
    """Remove a file whose bytes the archive has, and its note if the archive has that too."""
    companion = Offered(path, path.name).note
    if content_hash(path) != source_file:
        return
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise StorageError(
            f"{path} is loaded and can't be taken out of the inbox ({error.strerror}). "
            "Permission is needed; it is tried again."
        ) from error
    if companion is not None:
        kept = (home.archive / source_file[:2]).glob(f"{source_file}*.note.toml")
        if any(one.read_bytes() == companion.read_bytes() for one in kept):
            companion.unlink(missing_ok=True)
