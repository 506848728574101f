"""Who on the machine may read a home: its owner alone, a group, or all.

Folders decide: a new home and its folders are their owner's, whatever is in them. Where the
settings say `readers`, the home and its lake are opened or closed accordingly; what waits, what was
refused, originals, logs and the program's own state stay the owner's. A home that was made before,
and whose settings say nothing, keeps the modes that it has.
"""

from __future__ import annotations

import stat
from pathlib import Path

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import read_settings

PRIVATE = 0o700
# What the group and others get of a folder and of the published file, by the setting.
_FOLDERS = {"owner": 0o700, "group": 0o750, "all": 0o755}
_FILES = {"owner": 0o600, "group": 0o640, "all": 0o644}


def make_folders(home: Home) -> None:
    """Create the folders of a home that are missing, open to their owner alone."""
    home.root.parent.mkdir(parents=True, exist_ok=True)
    for folder in (home.root, *home.folders):
        folder.mkdir(mode=PRIVATE, parents=True, exist_ok=True)


def apply_readers(home: Home) -> None:
    """Open or close a home as its settings say; settings that can't be read change nothing."""
    try:
        readers = read_settings(home).readers
    except HomeError:
        return
    if readers is None:
        return
    for folder in (home.root, home.lake):
        _have_mode(folder, _FOLDERS[readers])
    if home.database.exists():
        _have_mode(home.database, _FILES[readers])


def _have_mode(path: Path, mode: int) -> None:
    if stat.S_IMODE(path.stat().st_mode) != mode:
        path.chmod(mode)


def who_reads(home: Home) -> str:
    """Who may read a home by its modes: 'owner', 'group' or 'all'."""
    mode = home.root.stat().st_mode
    if mode & stat.S_IXOTH:
        return "all"
    return "group" if mode & stat.S_IXGRP else "owner"
