from __future__ import annotations

from dataclasses import replace

import polars as pl
import pyarrow.parquet as pq
import pytest
from rangeledger.schemas.arrow import REJECTED_SCHEMA, shots_arrow_schema
from rangeledger.schemas.columns import BY_NAME
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home

from tests.shots import make_shots


def _batch(number: int, shots: int = 3, rejected: int = 0) -> lake.Batch:
    offer = lake.Offer("a.csv", "f" * 64, "loaded", shots=shots, rejected=rejected)
    return lake.Batch(number, "2026-05-02T10:00:00.000", (offer,))


NO_ROWS = pl.DataFrame(schema=REJECTED_SCHEMA)


def test_parquet_reads_back_equal_with_pyarrow_and_polars(home: Home) -> None:
    shots = make_shots([140.0, 141.5, 139.25], spin_rate_rpm=[7000.0, None, 7125.5])
    lake.write_batch(home, _batch(1), shots, NO_ROWS)
    (path,) = lake.shot_files(home, [1])
    assert path.parent.name == "month=2026-05"
    assert pl.read_parquet(path, hive_partitioning=False).equals(shots)
    table = pq.ParquetFile(path).read()
    assert table.equals(shots.to_arrow().cast(shots_arrow_schema()))
    assert table.to_pylist() == shots.to_dicts()


def test_fields_carry_unit_and_meaning(home: Home) -> None:
    lake.write_batch(home, _batch(1), make_shots([1.0]), NO_ROWS)
    schema = pq.read_schema(lake.shot_files(home, [1])[0])
    field = schema.field("carry_m")
    assert field.metadata == {b"meaning": BY_NAME["carry_m"].meaning.encode(), b"unit": b"m"}


def test_shots_are_parted_by_month_and_unknown_times_have_a_place(home: Home) -> None:
    shots = pl.concat(
        [make_shots([150.0]), make_shots([151.0], struck_at=[None], source_file="e" * 64)]
    )
    lake.write_batch(home, _batch(1, 2), shots, NO_ROWS)
    folders = {path.parent.name for path in lake.shot_files(home, [1])}
    assert folders == {"month=2026-05", "month=unknown"}


def test_a_batch_without_marker_does_not_exist_and_is_swept(home: Home) -> None:
    lake.write_batch(home, _batch(1), make_shots([150.0, 151.0, 152.0]), NO_ROWS)
    lake.write_batch(home, _batch(2), make_shots([150.0, 151.0, 152.0]), NO_ROWS)
    (home.lake / "batches" / "00000002.json").unlink()
    (home.lake / "shots" / "month=2026-05" / "00000002.tmp").write_bytes(b"half")
    removed = {path.name for path in lake.sweep(home)}
    assert removed == {"00000002.parquet", "00000002.tmp"}
    assert [path.name for path in lake.shot_files(home, [1, 2, 3])] == ["00000001.parquet"]


def test_marker_round_trip_and_damage(home: Home) -> None:
    batch = _batch(7)
    lake.write_batch(home, batch, make_shots([1.0]), NO_ROWS)
    assert replace(lake.read_batch(home, 7), files={}) == batch
    (home.lake / "batches" / "00000007.json").write_text("{")
    with pytest.raises(HomeError, match="damaged"):
        lake.read_batch(home, 7)


def test_decisions_keep_their_order(home: Home) -> None:
    for excluded in (True, False, True):
        lake.write_decision(home, {"session_id": "s", "excluded": excluded, "decided_at": "x"})
    assert [d["excluded"] for d in lake.read_decisions(home)] == [True, False, True]
