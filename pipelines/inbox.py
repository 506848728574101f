"""Exports on their way: from where they are offered to the archive or to quarantine.

An export is in `inbox/`, `archive/` or `quarantine/` at every instant. What is offered from
elsewhere is first copied into a folder of the inbox, so that one path serves both.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from schemas.errors import StorageError, UsageError
from warehouse.home import Home, sync_folder, write_atomically

NOTE_SUFFIX = ".toml"
# In a folder that is not the inbox only these are taken for exports.
EXPORT_SUFFIXES = (".csv", ".tsv", ".txt", ".tab", ".dat")
_STAGING = ".offered-"
_UNFINISHED = (".part", ".tmp", ".crdownload", ".partial")


@dataclass(frozen=True, slots=True)
class Offered:
    """An export that waits in the inbox."""

    path: Path
    file_name: str

    @property
    def note(self) -> Path | None:
        """The note file beside it, if there is one."""
        note = self.path.with_suffix(NOTE_SUFFIX)
        return note if note.is_file() and note != self.path else None


def is_export_name(name: str) -> bool:
    """Whether a file of the inbox is meant as an export: no note, not hidden, not unfinished."""
    lower = name.lower()
    return not (name.startswith(".") or lower.endswith((NOTE_SUFFIX, *_UNFINISHED)))


def waiting(home: Home) -> list[Offered]:
    """Exports in the inbox, by path, with what interrupted commands left in it."""
    found = []
    for folder, folders, names in os.walk(home.inbox):
        folders[:] = sorted(f for f in folders if not f.startswith(".") or _abandoned(f))
        found += [Path(folder) / name for name in sorted(names) if is_export_name(name)]
    return [Offered(path, path.name) for path in found]


def _abandoned(folder: str) -> bool:
    """Whether a staging folder belongs to a process that is gone."""
    owner = folder.removeprefix(_STAGING).partition("-")[0]
    if not folder.startswith(_STAGING) or not owner.isdigit():
        return False
    try:
        os.kill(int(owner), 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return int(owner) == os.getpid()


def gather(home: Home, paths: Sequence[Path]) -> tuple[list[Offered], list[Path]]:
    """Bring what a user names into the inbox.

    Parameters
    ----------
    home : Home
    paths : sequence of Path
        Files and folders, in the inbox or elsewhere.

    Returns
    -------
    offered : list of Offered
        Exports to load, in the order named; a folder's by name.
    passed_over : list of Path
        Files of folders elsewhere that are no exports by their ending.

    Raises
    ------
    UsageError
        If a path does not exist.
    StorageError
        If a copy can't be made.
    """
    offered: list[Offered] = []
    passed_over: list[Path] = []
    staging = home.inbox / f"{_STAGING}{os.getpid()}"
    for path in (path.expanduser().absolute() for path in paths):
        if not os.path.lexists(path):
            raise UsageError(f"There is no {path}. Name a file or a folder that exists.")
        inside = path.is_relative_to(home.inbox)
        for file in _files_of(path):
            if inside and is_export_name(file.name):
                offered.append(Offered(file, file.name))
            elif inside:
                continue
            elif path.is_dir() and file.suffix.lower() not in EXPORT_SUFFIXES:
                passed_over.append(file)
            else:
                offered.append(_copied(file, staging))
    return offered, [file for file in passed_over if file.suffix.lower() != NOTE_SUFFIX]


def _files_of(path: Path) -> list[Path]:
    if path.is_symlink() or not path.is_dir():
        return [path]
    found = []
    for folder, folders, names in os.walk(path):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        found += [Path(folder) / name for name in sorted(names) if not name.startswith(".")]
    return found


def _copied(file: Path, staging: Path) -> Offered:
    if not stat.S_ISREG(file.stat().st_mode if file.exists() else 0):
        raise UsageError(f"{file} is no ordinary file. Offer a file that can be copied.")
    number = 1
    while (folder := staging.with_name(f"{staging.name}-{number}")).exists():
        number += 1
    try:
        folder.mkdir(parents=True)
        note = file.with_suffix(NOTE_SUFFIX)
        if note.is_file():
            shutil.copyfile(note, folder / note.name)
        unfinished = folder / f"{file.name}.part"
        shutil.copyfile(file, unfinished)
        os.replace(unfinished, folder / file.name)
    except OSError as error:
        raise StorageError(
            f"{file} can't be copied into {folder.parent} ({error.strerror}). The file itself is "
            "untouched; free space or permission is needed, then offer it again."
        ) from error
    return Offered(folder / file.name, file.name)


def content_hash(path: Path) -> str:
    """SHA-256 of a file's bytes; of its name where it is no ordinary file and is not read."""
    if path.is_symlink() or not path.is_file():
        return hashlib.sha256(f"not a file: {path.name}".encode()).hexdigest()
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def archived(home: Home, source_file: str) -> Path | None:
    """The archived original of a content hash, if it is there."""
    return next(iter(sorted((home.archive / source_file[:2]).glob(f"{source_file}.*"))), None)


def to_archive(home: Home, offered: Offered, source_file: str) -> None:
    """Move an export and its note from the inbox to the archive.

    If the archive has these bytes already the inbox's copy is dropped.
    """
    folder = home.archive / source_file[:2]
    folder.mkdir(parents=True, exist_ok=True)
    note = offered.note
    if note is not None:
        _move(note, folder / f"{source_file}.note.toml")
    suffix = offered.path.suffix.lower() or ".csv"
    _move(offered.path, folder / f"{source_file}{suffix}")
    _tidy(home, offered.path.parent)


def to_quarantine(home: Home, offered: Offered, reason: str, mapping: str | None) -> Path:
    """Move an export and its note from the inbox to quarantine, beside its reason.

    Returns
    -------
    Path
        Where the export now is.
    """
    place = _free_place(home.quarantine, offered.file_name, offered.path)
    text = f"{reason}\n\nWhen it is put right, drop the file into {home.inbox} again.\n"
    if mapping:
        proposed = place.with_name(place.name + ".mapping.toml")
        write_atomically(proposed, mapping)
        text += f"A mapping to complete and move to {home.mappings}: {proposed.name}\n"
    write_atomically(place.with_name(place.name + ".reason.txt"), text)
    note = offered.note
    if note is not None:
        _move(note, place.with_suffix(NOTE_SUFFIX))
    _move(offered.path, place)
    _tidy(home, offered.path.parent)
    return place


def _free_place(folder: Path, name: str, incoming: Path) -> Path:
    """A free name in quarantine; the same bytes under the same name keep their place."""
    place, number = folder / name, 1
    while os.path.lexists(place) and content_hash(place) != content_hash(incoming):
        number += 1
        place = folder / f"{Path(name).stem} ({number}){Path(name).suffix}"
    return place


def _move(source: Path, target: Path) -> None:
    os.replace(source, target)
    sync_folder(target.parent)


def _tidy(home: Home, folder: Path) -> None:
    """Remove a staging folder that has become empty."""
    if folder != home.inbox and folder.name.startswith(_STAGING):
        shutil.rmtree(folder, ignore_errors=True)


def clear_abandoned(home: Home) -> None:
    """Remove staging folders of processes that are gone and hold no export."""
    for folder in home.inbox.glob(f"{_STAGING}*"):
        if _abandoned(folder.name) and not any(is_export_name(f.name) for f in folder.iterdir()):
            shutil.rmtree(folder, ignore_errors=True)


def chunks(offered: Iterable[Offered], most: int, most_bytes: int) -> list[list[Offered]]:
    """Part exports into batches bounded in number and in bytes, in order."""
    batches: list[list[Offered]] = [[]]
    size = 0
    for one in offered:
        bytes_ = one.path.lstat().st_size if os.path.lexists(one.path) else 0
        if batches[-1] and (len(batches[-1]) >= most or size + bytes_ > most_bytes):
            batches.append([])
            size = 0
        batches[-1].append(one)
        size += bytes_
    return [batch for batch in batches if batch]
