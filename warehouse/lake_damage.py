"""Files of the lake that are damaged or missing, found by the marks that their loads left."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home


@dataclass(frozen=True, slots=True)
class Damage:
    """One file that is not as it was written.

    Attributes
    ----------
    batch : int
        Its load.
    file : str
        Its path in the lake.
    what : str
        What is wrong with it.
    """

    batch: int
    file: str
    problem: str


def lake_damage(home: Home, *, everything: bool = False) -> list[Damage]:
    """Files that are missing, shorter or longer than written, or without a readable footer.

    Parameters
    ----------
    home : Home
    everything : bool
        Whether each file is read to its end and compared with its hash, which takes as long as
        reading the lake does.
    """
    batches = (lake.read_batch(home, number) for number in lake.batch_numbers(home))
    return [damage for batch in batches for damage in _of_batch(home, batch, everything)]


def _of_batch(home: Home, batch: lake.Batch, everything: bool) -> Iterator[Damage]:
    there = {p.relative_to(home.lake).as_posix() for p in lake.batch_files(home, batch.number)}
    for name in sorted(there | set(batch.files)):
        problem = _wrong_with(home.lake / name, batch.files.get(name), everything)
        if problem:
            yield Damage(batch.number, name, problem)


def _wrong_with(path: Path, mark: lake.Mark | None, everything: bool) -> str:
    """What is wrong with a file; empty if nothing is."""
    try:
        size = path.stat().st_size
        if mark is not None and size != mark.size:
            return f"has {size} bytes instead of {mark.size}"
        pq.read_metadata(path)
        if everything and mark is not None and lake.mark_of(path) != mark:
            return "has other bytes than were written"
        if everything and mark is None:
            pq.read_table(path)
    except FileNotFoundError:
        return "is missing"
    except (OSError, pa.ArrowException) as error:
        return f"can't be read ({str(error).splitlines()[0][:80]})"
    return ""


def in_words(damages: list[Damage], most: int = 3) -> str:
    """Damaged files in a sentence's part."""
    listed = "; ".join(f"lake/{one.file} {one.problem}" for one in damages[:most])
    more = f"; and {len(damages) - most} more" if len(damages) > most else ""
    return listed + more
