from __future__ import annotations

import os
from pathlib import Path

import pytest
from rangeledger.warehouse.system.file_locks import try_lock, wait_for_lock


@pytest.fixture
def two(tmp_path: Path) -> tuple[int, int]:
    path = str(tmp_path / "lock")
    return os.open(path, os.O_RDWR | os.O_CREAT), os.open(path, os.O_RDWR)


def test_one_holds_a_lock_until_its_file_is_closed(two: tuple[int, int]) -> None:
    first, second = two
    assert try_lock(first)
    assert not try_lock(second)
    assert not try_lock(second, shared=True)
    os.close(first)
    wait_for_lock(second)
    os.close(second)


def test_several_share_a_lock_that_excludes_a_holder(two: tuple[int, int]) -> None:
    first, second = two
    assert try_lock(first, shared=True)
    assert try_lock(second, shared=True)
    assert not try_lock(second)
    os.close(first)
    os.close(second)
