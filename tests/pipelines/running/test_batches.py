from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.running.batches import MOST_FILES, batches


def sizes(offered: list[Offered], seconds_a_file: float, fixed_s: float = 0.1) -> list[int]:
    """Sizes of the batches if each file, and each batch, takes so long."""
    clock, found = [0.0], []
    taken: list[Offered] = []
    for batch, ahead in batches(offered, lambda: clock[0]):
        clock[0] += fixed_s + seconds_a_file * len(batch)
        found.append(len(batch))
        taken += batch
        assert bool(ahead) == (len(taken) < len(offered))
    assert taken == offered
    return found


@pytest.fixture
def offered(tmp_path: Path) -> list[Offered]:
    paths = [tmp_path / f"{number:04d}.csv" for number in range(1000)]
    for path in paths:
        path.write_bytes(b"x" * 100)
    return [Offered(path, path.name) for path in paths]


def test_the_first_batch_is_small_and_the_others_take_about_two_seconds(
    offered: list[Offered],
) -> None:
    found = sizes(offered, 0.02)
    assert found[0] == 10
    assert 80 <= found[3] <= 100


def test_a_batch_is_bounded_however_fast_or_slow_it_goes(offered: list[Offered]) -> None:
    assert max(sizes(offered, 1e-4, 1e-3)) == MOST_FILES
    assert set(sizes(offered[:50], 5.0)) == {10}


def test_large_files_make_small_batches(tmp_path: Path) -> None:
    paths = [tmp_path / f"{number}.csv" for number in range(12)]
    for path in paths:
        path.write_bytes(b"x" * 600_000)
    found = sizes([Offered(path, path.name) for path in paths], 2.0)
    assert found == [1] * 12


def test_nothing_makes_no_batch() -> None:
    assert list(batches([])) == []
