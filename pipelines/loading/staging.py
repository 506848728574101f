"""Bringing exports from elsewhere into the inbox, so that one path serves all.

A command copies what a user names into a folder of its own inside the inbox,
`.offered-NUMBER/1/session.csv`. The folder belongs to the process as long as that holds the lock
`.state/.offered-NUMBER.lock`; when the process dies the kernel frees the lock, and whoever looks
next takes the exports over. Process numbers would not do: they come again after a restart.

Copies of exports of the inbox that may still grow lie in a folder `.growing-NUMBER` of the same
kind. Of those nothing is taken over, since the exports themselves stay in the inbox.
"""

from __future__ import annotations

import os
import secrets
import shutil
import stat
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from rangeledger.pipelines.loading.file_names import shown
from rangeledger.pipelines.loading.offered import NOTE_SUFFIX, Offered, is_export_name
from rangeledger.schemas.errors import StorageError, UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.file_locks import try_lock, wait_for_lock

# In a folder that is not the inbox only these are taken for exports.
EXPORT_SUFFIXES = (".csv", ".tsv", ".txt", ".tab", ".dat")
_PREFIX = ".offered-"
_GROWING = ".growing-"


@dataclass(slots=True)
class _Staging:
    """A staging folder of this process and the lock that says so."""

    folder: Path
    lock: Path
    descriptor: int
    used: int = field(default=0)

    def place(self) -> Path:
        """Make a new folder for one export and its note."""
        self.used += 1
        place = self.folder / str(self.used)
        place.mkdir(parents=True)
        return place

    def release(self) -> None:
        """Give up the folder, which has become empty."""
        self.lock.unlink(missing_ok=True)
        os.close(self.descriptor)


_ours: dict[tuple[Path, str], _Staging] = {}


def _our_staging(home: Home, prefix: str) -> _Staging:
    if (home.root, prefix) not in _ours:
        name = f"{prefix}{os.getpid()}-{secrets.token_hex(4)}"
        lock = _lock_path(home, name)
        # Locked before the folder exists, so that nobody can take it for abandoned.
        descriptor = os.open(lock, os.O_RDWR | os.O_CREAT, 0o644)
        wait_for_lock(descriptor)
        _ours[home.root, prefix] = _Staging(home.inbox / name, lock, descriptor)
    return _ours[home.root, prefix]


def _lock_path(home: Home, folder_name: str) -> Path:
    return home.state / f"{folder_name}.lock"


def abandoned(home: Home, folder_name: str) -> bool:
    """Whether a folder of the inbox holds what a process that is gone was offered."""
    return folder_name.startswith(_PREFIX) and _is_nobodys(home, folder_name)


def _is_nobodys(home: Home, folder_name: str) -> bool:
    """Whether the process that made a staging folder is gone."""
    try:
        descriptor = os.open(_lock_path(home, folder_name), os.O_RDWR)
    except OSError:
        return True
    try:
        return try_lock(descriptor)
    finally:
        os.close(descriptor)


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
        If a folder can't be listed or a copy can't be made.
    """
    offered: list[Offered] = []
    passed_over: list[Path] = []
    for path in (path.expanduser().absolute() for path in paths):
        if not os.path.lexists(path):
            raise UsageError(f"There is no {path}. Name a file or a folder that exists.")
        inside = _real(path).is_relative_to(_real(home.inbox))
        for file in _files_of(path):
            if inside and is_export_name(file.name):
                place = home.inbox / _real(file).relative_to(_real(home.inbox))
                offered.append(Offered(place, shown(file.name)))
            elif inside:
                continue
            elif path.is_dir() and file.suffix.lower() not in EXPORT_SUFFIXES:
                passed_over.append(file)
            else:
                offered.append(_copied(home, file))
    return offered, [file for file in passed_over if file.suffix.lower() != NOTE_SUFFIX]


def _real(path: Path) -> Path:
    """Path with the links of its folder followed, but not a link that it may be itself."""
    return path.parent.resolve() / path.name


def _files_of(path: Path) -> list[Path]:
    if path.is_symlink() or not path.is_dir():
        return [path]
    found = []
    for folder, folders, names in os.walk(path, onerror=_refuse_folder):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        found += [Path(folder) / name for name in sorted(names) if not name.startswith(".")]
    return found


def _refuse_folder(error: OSError) -> None:
    """Tell of a folder that can't be listed, rather than take it for empty."""
    raise StorageError(
        f"{error.filename} can't be read ({error.strerror}). Allow reading it, or name the exports."
    ) from error


def _copied(home: Home, file: Path) -> Offered:
    if not stat.S_ISREG(file.stat().st_mode if file.exists() else 0):
        raise UsageError(f"{file} is no ordinary file. Offer a file that can be copied.")
    return Offered(_copy(home, file, _PREFIX), shown(file.name))


def copied_while_it_may_grow(home: Home, one: Offered) -> Offered:
    """Copy an export of the inbox, and its note, that may not be whole yet.

    Raises
    ------
    StorageError
        If the copy can't be made.
    """
    return Offered(_copy(home, one.path, _GROWING), one.file_name, may_grow=one.path)


def _copy(home: Home, file: Path, prefix: str) -> Path:
    """Copy an export and its note into a place of its own in a staging folder."""
    note = Offered(file, file.name).note
    try:
        folder = _our_staging(home, prefix).place()
        if note is not None:
            shutil.copyfile(note, folder / note.name)
        unfinished = folder / ".unfinished"  # a name of its own: a long one takes no ending
        shutil.copyfile(file, unfinished)
        changed = file.stat()  # of two exports of the same shots the one changed last counts
        os.utime(unfinished, ns=(changed.st_atime_ns, changed.st_mtime_ns))
        os.replace(unfinished, folder / file.name)
    except OSError as error:
        raise StorageError(
            f"{file} can't be copied into {home.inbox} ({error.strerror}). The file itself is "
            "untouched; free space or permission is needed, then offer it again."
        ) from error
    return folder / file.name


def tidy(home: Home, folder: Path) -> None:
    """Remove an export's place in a staging folder, and that folder when it has become empty."""
    top = folder.parent
    if top.parent != home.inbox or not top.name.startswith((_PREFIX, _GROWING)):
        return
    shutil.rmtree(folder, ignore_errors=True)
    try:
        top.rmdir()
    except OSError:
        return
    key = home.root, _PREFIX if top.name.startswith(_PREFIX) else _GROWING
    ours = _ours.get(key)
    if ours is not None and ours.folder == top:
        _ours.pop(key).release()
    else:
        _lock_path(home, top.name).unlink(missing_ok=True)


def give_up(home: Home, copy: Path) -> None:
    """Remove a copy that is not loaded, and its place."""
    copy.unlink(missing_ok=True)
    tidy(home, copy.parent)


def give_up_growing(home: Home) -> None:
    """Remove what a load that failed has left of this process's copies of growing exports."""
    ours = _ours.pop((home.root, _GROWING), None)
    if ours is not None:
        shutil.rmtree(ours.folder, ignore_errors=True)
        ours.release()


def clear_abandoned(home: Home) -> None:
    """Remove staging folders of processes that are gone and that hold nothing offered."""
    for folder in [*home.inbox.glob(f"{_PREFIX}*"), *home.inbox.glob(f"{_GROWING}*")]:
        if not _is_nobodys(home, folder.name):
            continue
        names = (name for _, _, names in os.walk(folder) for name in names)
        if folder.name.startswith(_GROWING) or not any(is_export_name(name) for name in names):
            shutil.rmtree(folder, ignore_errors=True)
            _lock_path(home, folder.name).unlink(missing_ok=True)
