"""The lake: canonical shots as Parquet, the durable truth.

A load is a *batch*: some exports offered together. Its files are written under temporary names,
synced and renamed; the marker `batches/NUMBER.json` comes last, and only with it does the batch
exist. What has no marker is the remains of an interrupted load and is removed by `sweep`.

    lake/version.json
    lake/shots/month=2026-05/00000012.parquet      shots by the month they were struck
    lake/shots/month=unknown/00000012.parquet
    lake/rejected_rows/00000012.parquet
    lake/batches/00000012.json                     what was offered and what became of it
    lake/decisions/00000003.json                   sessions set aside or taken back by the user
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow.parquet as pq

from schemas.arrow import shots_arrow_schema
from schemas.errors import HomeError
from warehouse.home import Home, sync_folder, write_atomically

REJECTED_SCHEMA = pl.Schema(
    {
        "source_file": pl.String(),
        "source_row": pl.Int32(),
        "raw_text": pl.String(),
        "reason_code": pl.String(),
        "reason": pl.String(),
    }
)


@dataclass(frozen=True, slots=True)
class Offer:
    """One export that was offered, and what became of it (a row of `ingest_log`)."""

    file_name: str
    source_file: str
    state: str
    reason: str = ""
    shots: int = 0
    rejected: int = 0
    mapping: str = ""
    seconds: float = 0.0
    details: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Batch:
    """A committed load."""

    number: int
    loaded_at: str
    offers: tuple[Offer, ...]

    @property
    def name(self) -> str:
        """File name stem of the batch."""
        return f"{self.number:08d}"


def write_batch(home: Home, batch: Batch, shots: pl.DataFrame, rejected: pl.DataFrame) -> None:
    """Write a batch to the lake; it exists once this returns, and not before.

    Parameters
    ----------
    home : Home
    batch : Batch
    shots : polars.DataFrame
        Canonical shots, `schemas.arrow.shots_polars_schema()`.
    rejected : polars.DataFrame
        Rows not accepted, `REJECTED_SCHEMA`.
    """
    for month, part in _by_month(shots):
        folder = home.lake / "shots" / f"month={month}"
        _write_parquet(folder / f"{batch.name}.parquet", part)
    if rejected.height:
        folder = home.lake / "rejected_rows"
        folder.mkdir(parents=True, exist_ok=True)
        _replace(
            folder / f"{batch.name}.parquet",
            rejected.select(pl.col(n).cast(t) for n, t in REJECTED_SCHEMA.items()),
        )
    marker = home.lake / "batches" / f"{batch.name}.json"
    marker.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(marker, json.dumps(asdict(batch), ensure_ascii=False, indent=1))


def _by_month(shots: pl.DataFrame) -> Iterator[tuple[str, pl.DataFrame]]:
    month = pl.col("struck_at").dt.strftime("%Y-%m").fill_null("unknown").alias("_month")
    for (name,), part in shots.with_columns(month).group_by("_month", maintain_order=True):
        yield str(name), part.drop("_month")


def _write_parquet(path: Path, shots: pl.DataFrame) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    table = shots.to_arrow().cast(shots_arrow_schema())
    temporary = path.with_suffix(".tmp")
    pq.write_table(table, temporary, compression="zstd")
    _settle(temporary, path)


def _replace(path: Path, frame: pl.DataFrame) -> None:
    temporary = path.with_suffix(".tmp")
    frame.write_parquet(temporary, compression="zstd")
    _settle(temporary, path)


def _settle(temporary: Path, path: Path) -> None:
    with temporary.open("rb") as stream:
        os.fsync(stream.fileno())
    os.replace(temporary, path)
    sync_folder(path.parent)


def batch_numbers(home: Home) -> list[int]:
    """Numbers of the batches that exist, in order."""
    folder = home.lake / "batches"
    if not folder.is_dir():
        return []
    return sorted(int(path.stem) for path in folder.glob("*.json") if path.stem.isdigit())


def read_batch(home: Home, number: int) -> Batch:
    """Marker of one batch.

    Raises
    ------
    HomeError
        If the marker is damaged.
    """
    path = home.lake / "batches" / f"{number:08d}.json"
    try:
        raw = json.loads(path.read_text(encoding="utf-8"))
        offers = tuple(Offer(**offer) for offer in raw["offers"])
        return Batch(int(raw["number"]), str(raw["loaded_at"]), offers)
    except (ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f"{path} is damaged, so this load can't be read. Restore the file from a backup."
        ) from error


def shot_files(home: Home, numbers: Sequence[int]) -> list[Path]:
    """Parquet files of the shots of some batches, in batch order."""
    wanted = set(numbers)
    files = [p for p in (home.lake / "shots").glob("month=*/*.parquet") if int(p.stem) in wanted]
    return sorted(files, key=lambda path: (path.stem, path.parent.name))


def rejected_files(home: Home, numbers: Sequence[int]) -> list[Path]:
    """Parquet files of the rows not accepted of some batches, in batch order."""
    wanted = set(numbers)
    files = (home.lake / "rejected_rows").glob("*.parquet")
    return sorted(p for p in files if int(p.stem) in wanted)


def sweep(home: Home) -> list[Path]:
    """Remove what an interrupted load left behind; returns what was removed.

    Only files without a batch marker go; they hold nothing that is not still in the inbox.
    """
    known = set(batch_numbers(home))
    removed = []
    candidates = [
        *(home.lake / "shots").glob("month=*/*"),
        *(home.lake / "rejected_rows").glob("*"),
    ]
    for path in candidates:
        if path.suffix == ".tmp" or (path.stem.isdigit() and int(path.stem) not in known):
            path.unlink()
            removed.append(path)
    return removed


def write_decision(home: Home, decision: dict[str, Any]) -> None:
    """Add a user's decision about a session to the lake; decisions are never edited."""
    folder = home.lake / "decisions"
    folder.mkdir(parents=True, exist_ok=True)
    number = max((int(p.stem) for p in folder.glob("*.json")), default=0) + 1
    write_atomically(folder / f"{number:08d}.json", json.dumps(decision, ensure_ascii=False))


def read_decisions(home: Home) -> list[dict[str, Any]]:
    """All decisions, oldest first."""
    files = sorted((home.lake / "decisions").glob("*.json"))
    return [json.loads(path.read_text(encoding="utf-8")) for path in files]
