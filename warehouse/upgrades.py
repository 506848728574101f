"""Bringing a home of an older layout up to this program's.

The database needs no upgrade: one made from other statements is made anew from the lake. What
lasts is the layout of the home and the lake, whose version stands in `lake/version.json`. Each
step leads from one version to the next and may be run again after an interruption; the version
is written after it.
"""

from __future__ import annotations

from collections.abc import Callable

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.home_version import HOME_VERSION, home_version, write_home_version
from rangeledger.warehouse.rewriting import rewrite_lake
from rangeledger.warehouse.settings import read_settings
from rangeledger.warehouse.writer_lock import writer_lock


def _state_the_version(home: Home) -> None:
    """Leave a home that states no version, such as one restored without it, as it is."""
    if not home.lake.is_dir():
        raise HomeError(f"{home.root} has no lake. Restore it from a backup.")


def _rename_columns(home: Home) -> None:
    """Club columns after the ball's and under the trade's names; wind height, monitor, site."""
    rewrite_lake(home, read_settings(home).reading)


# Step that leads from a version to the next.
STEPS: dict[int, Callable[[Home], None]] = {0: _state_the_version, 1: _rename_columns}


def upgrade(home: Home, to_version: int = HOME_VERSION) -> list[int]:
    """Bring a home up to a layout version, step by step, under the writer lock.

    Parameters
    ----------
    home : Home
        A home whose folders exist.
    to_version : int
        Version wanted.

    Returns
    -------
    list of int
        Versions that were left behind; empty if there was nothing to do.

    Raises
    ------
    HomeError
        If there is no way up from the home's version.
    """
    if home_version(home) >= to_version:
        return []
    left = []
    with writer_lock(home):
        while (found := home_version(home)) < to_version:
            if found not in STEPS:
                raise HomeError(
                    f"The home {home.root} has layout version {found}, which this program can't "
                    "bring up. Install the rangeledger that made it and ask its 'checkup'."
                )
            STEPS[found](home)
            write_home_version(home, found + 1)
            left.append(found)
    return left
