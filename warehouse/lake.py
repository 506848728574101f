"""The lake: canonical shots as Parquet, the durable truth.

A load is a *batch*: some exports offered together. Its files are written under temporary names,
synced and renamed; the marker `batches/NUMBER.json` comes last, and only with it does the batch
exist. What an interrupted load left without a marker is removed by `sweep` before the next.

    lake/version.json
    lake/shots/month=2026-05/00000012.parquet      shots by the month they were struck
    lake/shots/month=unknown/00000012.parquet
    lake/rejected_rows/00000012.parquet
    lake/other_lines/00000012.parquet              lines that are neither shots nor rejected rows
    lake/remarks/00000012.parquet                  what the load noticed
    lake/batches/00000012.json                     what was offered and what became of it
    lake/decisions/00000003.json                   what the user decided on sessions and names
    lake/aside/                                    files whose load's marker was lost, if ever
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
from rangeledger.schemas.arrow import (
    COMPANION_SCHEMAS,
    shots_arrow_schema,
)
from rangeledger.schemas.errors import HomeError, StorageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import sync_file, sync_folder, write_atomically

# Up to so many batches their files are asked for by name instead of listing the whole lake.
_FEW = 50


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
    # None of a load made before these were kept.
    other_lines: int | None = None
    remarks: int | None = None


@dataclass(frozen=True, slots=True)
class Mark:
    """What tells a file of the lake from a damaged one: its size [bytes] and its SHA-256."""

    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Batch:
    """A committed load.

    Attributes
    ----------
    number : int
    loaded_at : str
        When [UTC].
    offers : tuple of Offer
    files : dict of str to Mark
        Its Parquet files by their path in the lake; empty of a load made before they were kept.
    """

    number: int
    loaded_at: str
    offers: tuple[Offer, ...]
    files: dict[str, Mark] = field(default_factory=dict)

    @property
    def name(self) -> str:
        """File name stem of the batch."""
        return f"{self.number:08d}"


def write_batch(
    home: Home,
    batch: Batch,
    shots: pl.DataFrame,
    rejected: pl.DataFrame,
    other_lines: pl.DataFrame | None = None,
    remarks: pl.DataFrame | None = None,
) -> None:
    """Write a batch to the lake; it exists once this returns, and not before.

    Parameters
    ----------
    home : Home
    batch : Batch
    shots : polars.DataFrame
        Canonical shots, `rangeledger.schemas.arrow.shots_polars_schema()`.
    rejected : polars.DataFrame
        Rows not accepted, `REJECTED_SCHEMA`.
    other_lines : polars.DataFrame, optional
        Lines that are neither, `OTHER_LINES_SCHEMA`.
    remarks : polars.DataFrame, optional
        What was noticed, `REMARKS_SCHEMA`.
    """
    rows_of = dict(zip(COMPANION_SCHEMAS, (rejected, other_lines, remarks), strict=True))
    try:
        for month, part in _by_month(shots):
            folder = home.lake / "shots" / f"month={month}"
            write_parquet(folder / f"{batch.name}.parquet", part.to_arrow(), shots_arrow_schema())
        for kind, rows in rows_of.items():
            if rows is not None and rows.height:
                typed = rows.select(pl.col(n).cast(t) for n, t in COMPANION_SCHEMAS[kind].items())
                write_parquet(home.lake / kind / f"{batch.name}.parquet", typed.to_arrow())
        write_marker(home, batch)
    except OSError as error:
        raise StorageError(
            f"The lake in {home.lake} can't be written ({error.strerror or error}). Nothing of "
            "this load counts yet; free space or permission is needed, then run it again."
        ) from error


def write_marker(home: Home, batch: Batch) -> None:
    """Write the marker of a batch, with the marks that its Parquet files have now."""
    marker = home.lake / "batches" / f"{batch.name}.json"
    marker.parent.mkdir(parents=True, exist_ok=True)
    marked = replace(batch, files=marks_of(home, batch.number))
    write_atomically(marker, json.dumps(asdict(marked), ensure_ascii=False, indent=1))


def remove_batch(home: Home, number: int) -> None:
    """Remove a batch from a lake that will be given it again, its marker first."""
    (home.lake / "batches" / f"{number:08d}.json").unlink(missing_ok=True)
    for path in batch_files(home, number):
        path.unlink()


def batch_files(home: Home, number: int) -> list[Path]:
    """All Parquet files of a batch."""
    companions = (
        path for kind in COMPANION_SCHEMAS for path in companion_files(home, kind, [number])
    )
    return [*shot_files(home, [number]), *companions]


def marks_of(home: Home, number: int) -> dict[str, Mark]:
    """Marks of the Parquet files that a batch has now, by their path in the lake."""
    return {
        path.relative_to(home.lake).as_posix(): mark_of(path) for path in batch_files(home, number)
    }


def mark_of(path: Path) -> Mark:
    """Mark of a file as it is now."""
    with path.open("rb") as stream:
        return Mark(path.stat().st_size, hashlib.file_digest(stream, "sha256").hexdigest())


def _by_month(shots: pl.DataFrame) -> Iterator[tuple[str, pl.DataFrame]]:
    month = pl.col("struck_at").dt.strftime("%Y-%m").fill_null("unknown").alias("_month")
    for (name,), part in shots.with_columns(month).group_by("_month", maintain_order=True):
        yield str(name), part.drop("_month")


def write_parquet(path: Path, table: pa.Table, schema: pa.Schema | None = None) -> None:
    """Write a file so that a reader sees the former one or the whole new one, durably."""
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_suffix(".tmp")
    pq.write_table(table.cast(schema) if schema else table, temporary, compression="zstd")
    sync_file(temporary)
    os.replace(temporary, path)
    sync_folder(path.parent)


def batch_numbers(home: Home) -> list[int]:
    """Numbers of the batches that exist, in order."""
    try:
        names = os.listdir(home.lake / "batches")
    except FileNotFoundError:
        return []
    stems = (name.removesuffix(".json") for name in names if name.endswith(".json"))
    return sorted(int(stem) for stem in stems if stem.isdigit())


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
        files = {str(name): Mark(**mark) for name, mark in raw.get("files", {}).items()}
        return Batch(int(raw["number"]), str(raw["loaded_at"]), offers, files)
    except (ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f"{path} is damaged, so this load can't be read. Restore the file from a backup."
        ) from error


def shot_files(home: Home, numbers: Sequence[int]) -> list[Path]:
    """Parquet files of the shots of some batches, in batch order."""
    files = _numbered(home.lake / "shots", "month=*/", numbers)
    return sorted(files, key=lambda path: (path.stem, path.parent.name))


def columns_of(path: Path) -> set[str]:
    """Columns of a Parquet file."""
    return set(pq.read_schema(path).names)


def companion_files(home: Home, kind: str, numbers: Sequence[int]) -> list[Path]:
    """Parquet files of a kind of `COMPANION_SCHEMAS` of some batches, in batch order."""
    return sorted(_numbered(home.lake / kind, "", numbers))


def _numbered(folder: Path, between: str, numbers: Sequence[int]) -> list[Path]:
    """Parquet files of some batches; a few are asked for by name, so that a load stays cheap."""
    if len(numbers) <= _FEW:
        return [p for n in numbers for p in folder.glob(f"{between}{n:08d}.parquet")]
    chosen = set(numbers)
    return [p for p in folder.glob(f"{between}*.parquet") if int(p.stem) in chosen]


def sweep(home: Home, *, mirrors: bool = False) -> list[Path]:
    """Remove what an interrupted load left behind; returns what was removed.

    Only the load that would have come next can have been interrupted. Its files hold nothing
    that is not still in the inbox; if an export of theirs is in the archive, a marker was lost
    instead, and they are put aside, since they may be the only shots there are. A lake that
    `mirrors` a shared one is given them again.
    """
    numbers = batch_numbers(home)
    stem = f"{(numbers[-1] if numbers else 0) + 1:08d}"
    found = [
        path
        for folder in ("shots/month=*", *COMPANION_SCHEMAS)
        for path in home.lake.glob(f"{folder}/{stem}.*")
    ]
    keep = not mirrors and any(_is_of_archived_export(home, path) for path in found)
    for path in found:
        if keep and path.suffix == ".parquet":
            _set_apart(home, path)
        else:
            path.unlink()
    for path in (home.lake / "batches").glob(f".{stem}.json.*.tmp"):
        path.unlink()
    return found


def _is_of_archived_export(home: Home, path: Path) -> bool:
    if path.suffix != ".parquet":
        return False
    sources = pl.read_parquet(path, columns=["source_file"])["source_file"].unique().to_list()
    return any(next((home.archive / s[:2]).glob(f"{s}.*"), None) is not None for s in sources)


def orphans_folder(home: Home) -> Path:
    """Folder of Parquet files that lost the marker of their load."""
    return home.lake / "aside"


def _set_apart(home: Home, path: Path) -> None:
    kind = path.parent.name
    folder = orphans_folder(home)
    folder.mkdir(exist_ok=True)
    number = 1
    while (target := folder / f"{kind}-{path.stem}-{number}.parquet").exists():
        number += 1
    os.replace(path, target)
    sync_folder(folder)


def markerless(home: Home) -> list[Path]:
    """Parquet files that belong to no load, apart from an interrupted one's."""
    numbers = set(batch_numbers(home))
    coming = max(numbers, default=0) + 1
    folders = ("shots/month=*", *COMPANION_SCHEMAS)
    files = [path for folder in folders for path in home.lake.glob(f"{folder}/*.parquet")]
    orphans = [p for p in files if int(p.stem) not in numbers and int(p.stem) != coming]
    return sorted([*orphans, *orphans_folder(home).glob("*.parquet")])


def write_decision(home: Home, decision: dict[str, Any], number: int | None = None) -> None:
    """Add a user's decision to the lake, as the last or under a number; it is never edited."""
    folder = home.lake / "decisions"
    folder.mkdir(parents=True, exist_ok=True)
    if number is None:
        number = max((int(path.stem) for path in folder.glob("*.json")), default=0) + 1
    text = json.dumps(decision, ensure_ascii=False)
    try:
        write_atomically(folder / f"{number:08d}.json", text)
    except OSError as error:
        raise StorageError(
            f"The decision can't be written to {folder} ({error.strerror or error}). "
            "Free space or permission is needed, then decide again."
        ) from error


def read_decisions(home: Home) -> list[dict[str, Any]]:
    """All decisions, oldest first."""
    return [json.loads(path.read_text(encoding="utf-8")) for _, path in decision_files(home)]


def decision_files(home: Home) -> list[tuple[int, Path]]:
    """Number and file of each decision, oldest first."""
    files = sorted((home.lake / "decisions").glob("*.json"))
    return [(int(path.stem), path) for path in files]
