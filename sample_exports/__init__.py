"""Sample exports of an invented golf academy, for the demo and for tests.

The files beside this module were printed by `make_sample_exports.py`; `SCENARIO.md` says what each
of them shows and what the right result is.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def sample_folder() -> Path:
    """Folder that holds the sample exports.

    Returns
    -------
    pathlib.Path
        The folder of this package; its subfolder `refused` holds files that are no exports.
    """
    return Path(str(files(__name__)))


def sample_files() -> list[Path]:
    """Sample exports that a ledger should accept, by name; notes (`.toml`) lie beside them.

    Returns
    -------
    list of pathlib.Path
        The exports, sorted by file name.
    """
    return sorted(sample_folder().glob("*.csv"))


def refused_files() -> list[Path]:
    """Files that look like exports and must not be accepted, by name.

    Returns
    -------
    list of pathlib.Path
        The files, sorted by file name.
    """
    return sorted((sample_folder() / "refused").glob("*.csv"))
