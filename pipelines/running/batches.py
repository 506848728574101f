"""Parts a backlog into batches that take about two seconds each, so that each soon counts."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.offered import Offered, stamp_of

# A batch is bounded so that memory is: two of them are in it, since the next one is read ahead.
MOST_FILES = 200
MOST_BYTES = 64 * 2**20
# Who is killed again and again must get on: what is not committed is read anew.
_TARGET_S = 2.0
# What a batch costs by itself would eat up smaller ones.
_LEAST_FILES, _LEAST_BYTES = 10, 2**20
_GROWTH = 4.0


def batches(
    offered: Sequence[Offered], clock: Callable[[], float] = time.monotonic
) -> Iterator[tuple[list[Offered], list[Offered]]]:
    """Batches, in order, each with what comes next; the first is small.

    The next one's size follows from the time that passes until it is asked for.

    Parameters
    ----------
    offered : sequence of Offered
    clock : callable
        Monotonic time [s].

    Yields
    ------
    batch : list of Offered
    upcoming : list of Offered
        About what the next batch will be; empty with the last one.
    """
    left = list(offered)
    files, size = float(_LEAST_FILES), float(_LEAST_BYTES)
    while left:
        batch = _first(left, files, size)
        left = left[len(batch) :]
        began = clock()
        yield batch, _first(left, files * _GROWTH, size * _GROWTH)
        growth = min(_TARGET_S / max(clock() - began, 1e-3), _GROWTH)
        files = min(max(len(batch) * growth, _LEAST_FILES), MOST_FILES)
        size = min(max(_bytes(batch) * growth, _LEAST_BYTES), MOST_BYTES)


def _first(left: Sequence[Offered], files: float, size: float) -> list[Offered]:
    most = min(int(files), MOST_FILES)
    parts = inbox.chunks(left[:most], most, int(min(size, MOST_BYTES)))
    return parts[0] if parts else []


def _bytes(batch: Sequence[Offered]) -> int:
    return sum(stamp.size for one in batch if (stamp := stamp_of(one.path)) is not None)
