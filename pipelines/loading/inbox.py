"""Exports on their way: from the inbox to the archive or to quarantine.

An export is in `inbox/`, `archive/` or `quarantine/` at every instant. It leaves the inbox last,
when its load is committed, and only if its bytes are still those that were loaded.
"""

from __future__ import annotations

import errno
import os
import re
import shlex
import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TypeVar

from rangeledger.pipelines.loading import growing_files, staging
from rangeledger.pipelines.loading.file_names import plain_ending, shown, stored
from rangeledger.pipelines.loading.offered import (
    NOTE_SUFFIX,
    Offered,
    content_hash,
    is_export_name,
    stamp_of,
)
from rangeledger.schemas.errors import StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import sync_file, sync_folder, write_atomically
from rangeledger.warehouse.system.file_leases import open_for_writing

AnyOffered = TypeVar("AnyOffered", bound=Offered)

# A hidden name, the number of the process that writes it, and the ending: .NAME.1234.tmp
_HALF_WRITTEN = re.compile(r"\..+\.[0-9]+\.tmp")


def waiting(home: Home) -> list[Offered]:
    """Exports that are to be loaded, by path, with what interrupted commands left.

    What was loaded already and only lies there for as long as it may grow is left out.
    """
    loaded = growing_files.unchanged(home)
    return [one for one in lying(home) if one.path not in loaded]


def lying(home: Home) -> list[Offered]:
    """All exports in the inbox, by path."""
    found = []
    for folder, folders, names in os.walk(home.inbox):
        folders[:] = sorted(
            f for f in folders if not f.startswith(".") or staging.abandoned(home, f)
        )
        links = [f for f in folders if os.path.islink(os.path.join(folder, f))]
        folders[:] = [f for f in folders if f not in links]
        found += [Path(folder) / n for n in sorted([*names, *links]) if is_export_name(n)]
    return [Offered(path, shown(path.name)) for path in found]


def orphan_notes(home: Home) -> list[Path]:
    """Note files in the inbox without an export beside them."""
    notes = [p for p in home.inbox.rglob("*") if p.suffix.lower() == NOTE_SUFFIX and p.is_file()]
    return [n for n in notes if not any(_exports_of_note(n))]


def _exports_of_note(note: Path) -> Iterable[Path]:
    """Exports that a note speaks of: those of its name, whatever their ending."""
    names = (name for name in os.listdir(note.parent) if name.startswith(f"{note.stem}."))
    found = (note.parent / name for name in names if is_export_name(name))
    return (path for path in found if path.stem == note.stem)


def to_archive(home: Home, offered: Offered, source_file: str) -> None:
    """Move an export and its note from the inbox to the archive.

    If the archive has these bytes already the inbox's copy takes their place.
    """
    folder = home.archive / source_file[:2]
    folder.mkdir(parents=True, exist_ok=True)
    _pass_on_note(offered, folder / f"{source_file}.note.toml", keep_former=True)
    _move(offered.path, folder / f"{source_file}{plain_ending(offered.path.name)}")
    staging.tidy(home, offered.path.parent)


def to_quarantine(home: Home, offered: Offered, reason: str, mapping: str | None) -> Path:
    """Move an export and its note from the inbox to quarantine, beside its reason.

    Returns
    -------
    Path
        Where the export now is.
    """
    place = _free_place(home.quarantine, offered.file_name, offered.path)
    if mapping:
        write_atomically(place.with_name(place.name + ".mapping.toml"), mapping)
    text = reason_text(home, reason, place.name, mapping)
    write_atomically(place.with_name(place.name + ".reason.txt"), text)
    _pass_on_note(offered, place.with_suffix(NOTE_SUFFIX), keep_former=False)
    _move(offered.path, place)
    staging.tidy(home, offered.path.parent)
    return place


def reason_text(home: Home, reason: str, name: str, mapping: str | None) -> str:
    """What stands beside a refused export: why, and how it comes in after all."""
    text = (
        f"{reason}\n\nWhen the file is put right, drop it into {home.inbox} again. When a mapping, "
        f"a note beside it or the settings put it right: rangeledger reload {shlex.quote(name)}\n"
    )
    if mapping:
        text += f"A mapping to complete and move to {home.mappings}: {name}.mapping.toml\n"
    return text


def leave_quarantine(home: Home, offered: Offered, source_file: str) -> None:
    """Move a refused export that was read after all to the archive; its reason goes."""
    to_archive(home, offered, source_file)
    for ending in (".reason.txt", ".mapping.toml"):
        offered.path.with_name(offered.path.name + ending).unlink(missing_ok=True)


def _free_place(folder: Path, name: str, incoming: Path) -> Path:
    """A free name in quarantine; the same bytes under the same name keep their place."""
    name = stored(name)
    place, number = folder / name, 1
    while os.path.lexists(place) and content_hash(place) != content_hash(incoming):
        number += 1
        place = folder / f"{Path(name).stem} ({number}){Path(name).suffix}"
    return place


def _pass_on_note(offered: Offered, target: Path, *, keep_former: bool) -> None:
    """Move the note beside an export; leave a copy where other exports of its name need it."""
    note = offered.note
    if note is None:
        return
    shared = any(p != offered.path for p in _exports_of_note(note))
    if keep_former:
        target = _without_overwriting(note, target)
    if shared or note.is_symlink():  # of a link the bytes are kept, which may change where it leads
        _copy(note.resolve(), target)
    else:
        _move(note, target)
    if note.is_symlink() and not shared:
        note.unlink()


def _without_overwriting(note: Path, target: Path) -> Path:
    """A name for a note after those given before, unless it says the same as the last of them."""
    stem = target.name.removesuffix(".note.toml")
    place, last, number = target, None, 1
    while place.exists():
        last, number = place, number + 1
        place = target.with_name(f"{stem}.{number}.note.toml")
    return last if last is not None and last.read_bytes() == note.read_bytes() else place


def _move(source: Path, target: Path) -> None:
    try:
        os.replace(source, target)
        sync_folder(target.parent)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise StorageError(
                f"{source} can't be moved to {target.parent} ({error.strerror}). It stays where "
                "it is; permission or space is needed, then run 'rangeledger ingest'."
            ) from error
        _copy(source, target)
        source.unlink()


def _copy(source: Path, target: Path) -> None:
    """Copy so that the target is there whole or not at all, and durably."""
    temporary = target.with_name(f".{target.name}.{os.getpid()}.tmp")
    try:
        shutil.copyfile(source, temporary, follow_symlinks=False)
        if not temporary.is_symlink():
            sync_file(temporary)
        os.replace(temporary, target)
        sync_folder(target.parent)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StorageError(
            f"{source} can't be copied to {target.parent} ({error.strerror}). It stays where it "
            "is; permission or space is needed, then run 'rangeledger ingest'."
        ) from error


def clear_half_written(folders: Iterable[Path]) -> None:
    """Remove what a killed process was writing beside originals; call it under the writer lock.

    Such a file is a copy or a reason that has not taken its name yet, and is made anew.
    """
    for folder in folders:
        for path in folder.glob(".*.tmp"):
            if _HALF_WRITTEN.fullmatch(path.name):
                path.unlink(missing_ok=True)


def chunks(offered: Iterable[AnyOffered], most: int, most_bytes: int) -> list[list[AnyOffered]]:
    """Part exports into batches bounded in number and in bytes, in order."""
    batches: list[list[AnyOffered]] = [[]]
    size = 0
    for one in offered:
        stamp = stamp_of(one.path)
        bytes_ = stamp.size if stamp else 0
        if batches[-1] and (len(batches[-1]) >= most or size + bytes_ > most_bytes):
            batches.append([])
            size = 0
        batches[-1].append(one)
        size += bytes_
    return [batch for batch in batches if batch]


def offer_paths(home: Home, paths: Sequence[Path]) -> tuple[list[Offered], dict[Path, str]]:
    """Bring named files and folders into the inbox; without names take what waits there.

    Returns
    -------
    offered : list of Offered
        Exports to load.
    passed_over : dict of Path to str
        Files that are not taken, and why.
    """
    offered, others = staging.gather(home, paths) if paths else (waiting(home), [])
    passed_over = dict.fromkeys(others, "no export by its ending")
    ready = []
    for one in offered:
        if open_for_writing(one.path):
            passed_over[one.path] = "another program is still writing it"
        else:
            ready.append(one)
    return ready, passed_over
