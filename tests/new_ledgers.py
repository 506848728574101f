"""New databases of a test run begin as copies of the first one, whose making takes 0.3 s."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from rangeledger.warehouse import database, ledger_file
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.once import made_once


@contextmanager
def copied_ledgers(factory: pytest.TempPathFactory) -> Iterator[None]:
    """Have databases that are not there yet begun as copies, in this process, for the block.

    The first is made as always, by the first test of all processes that needs one; processes that
    tests start make theirs themselves.
    """
    connect, version = ledger_file.connect, database.database_version()

    def make(folder: Path) -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(ledger_file, "connect", connect)
            with database.open_ledger(open_home(Home(folder))):
                pass

    @cache
    def first() -> Path:
        return Home(made_once(factory, "new-ledger", make)).ledger

    def begun(target: Path) -> Any:
        log = target.with_name(f"{target.name}.wal")
        if database.database_version() == version and not target.exists() and not log.exists():
            original = first()
            with suppress(OSError):  # who opens it meets the same and tells it
                shutil.copyfile(original, target)
        return connect(target)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ledger_file, "connect", begun)
        yield
