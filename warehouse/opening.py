"""Opening a home: making what is missing, bringing an older one up, refusing what can't be used."""

from __future__ import annotations

from rangeledger.schemas.errors import HomeError, StorageError
from rangeledger.warehouse.home import Home, refuse_file
from rangeledger.warehouse.home_version import HOME_VERSION, home_version, write_home_version
from rangeledger.warehouse.settings import FIRST_SETTINGS
from rangeledger.warehouse.system.durable_files import write_atomically
from rangeledger.warehouse.who_reads import apply_readers, make_folders


def open_home(home: Home) -> Home:
    """Create what is missing of a home, bring an older one up, check that we can use it.

    Raises
    ------
    NoHomeError
        If there is a file where the home should be.
    HomeError
        If the home was made by a newer program.
    StorageError
        If the disk refuses.
    """
    refuse_file(home)
    try:
        make_folders(home)
        if not home.version_file.exists() and not any(home.lake.iterdir()):
            write_home_version(home)
        if not home.settings_file.exists():
            write_atomically(home.settings_file, FIRST_SETTINGS)
        apply_readers(home)
    except OSError as error:
        raise StorageError(
            f"The home {home.root} can't be written ({error.strerror}). "
            "Free space or permission is needed, or name another home with --home."
        ) from error
    _check_version(home)
    return home


def _check_version(home: Home) -> None:
    found = home_version(home)
    if found > HOME_VERSION:
        raise HomeError(
            f"The home {home.root} has layout version {found}; this program knows up to "
            f"{HOME_VERSION}. Install a newer rangeledger."
        )
    if found < HOME_VERSION:
        from rangeledger.warehouse.upgrades import upgrade  # seldom needed, and much to import

        upgrade(home)
