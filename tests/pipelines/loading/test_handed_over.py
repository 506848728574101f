"""Results cross from one process to another whole, in one piece or with the shots by themselves."""

from __future__ import annotations

import multiprocessing
import shutil
from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.loading import handed_over, inbox
from rangeledger.pipelines.loading.handed_over import receive_result, send_result
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.read_one import ReadResult, read_one
from rangeledger.pipelines.loading.readers import Readers
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults

SAMPLE = Path(__file__).parents[3] / "sample_exports" / "golpes-marzo.csv"


def read() -> PreparedExport:
    """A sample export, without its lines."""
    export = prepare_export(SAMPLE)
    export.leave_lines()
    return export


def crossed(export: PreparedExport, folder: Path) -> PreparedExport:
    """The export as it arrives at the other end."""
    here, there = multiprocessing.Pipe()
    with here, there:
        send_result(here, ReadResult(export, seconds=2.0), folder)
        result = receive_result(there)
        assert not there.poll()
    assert result.seconds == 2.0
    assert result.export is not None
    return result.export


def read_many(home: Home, defaults: ReadingDefaults | None, offered: Offered) -> ReadResult:
    """An export as read, its shots so often that they go by themselves."""
    result = read_one(home, defaults, offered)
    assert result.export is not None
    shots = result.export.shots
    times = 1 + int(handed_over.MANY_BYTES / shots.estimated_size())
    result.export.shots = pl.concat([shots] * times)
    return result


def test_many_shots_come_from_the_process_that_reads(home: Home) -> None:
    shutil.copy(SAMPLE, home.inbox)
    (offered,) = inbox.waiting(home)
    with Readers(home, read=read_many) as readers:
        found = readers.read(None, offered).export
    assert found is not None
    once = read_one(home, None, offered).export
    assert once is not None
    assert found.shots.estimated_size() > handed_over.MANY_BYTES
    assert found.shots.unique(maintain_order=True).equals(once.shots)


@pytest.mark.parametrize("many_bytes", [1, 1 << 26])
def test_a_result_crosses_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, many_bytes: int
) -> None:
    monkeypatch.setattr(handed_over, "MANY_BYTES", many_bytes)
    before = read()
    shots = before.shots.clone()
    after = crossed(before, tmp_path)
    assert after.shots.equals(shots)
    assert after.shots.schema == shots.schema
    assert after.remarks == before.remarks
    assert not list(tmp_path.iterdir())
    doubled = pl.concat([after.shots, shots])  # what is mapped can be worked with
    assert doubled.filter(pl.col("carry_m") > 0).height == 2 * (shots["carry_m"] > 0).sum()


def test_without_a_place_to_write_it_goes_in_one_piece(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(handed_over, "MANY_BYTES", 1)
    export = read()
    assert crossed(export, tmp_path / "absent").shots.equals(export.shots)
