"""When an export has come to rest: whole, closed, and with its note beside it."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rangeledger.pipelines.loading.growing_files import PATIENT_S
from rangeledger.pipelines.loading.offered import (
    Offered,
    Stamp,
    ends_amid_a_line,
    stamp_of,
)
from rangeledger.pipelines.service.arrivals import Arrival
from rangeledger.warehouse.system.file_leases import open_for_writing

# How soon to look again at a file that rests but that another program still has open.
_RECHECK_S = 0.25
# A file that has grown after a pause must rest for so many of its longest pauses.
_PAUSES = 2.0


def _can_be_copied(path: Path) -> bool:
    return os.path.isfile(path) and not os.path.islink(path) and os.access(path, os.R_OK)


@dataclass(slots=True)
class _Seen:
    """What a file and its note looked like, and since when [s, monotonic clock].

    Attributes
    ----------
    stamps : tuple of Stamp
    since : float
    longest_pause : float
        Longest time [s] between two changes of the file.
    tried : bool
        Whether it was taken as it is while it might still grow.
    """

    stamps: tuple[Stamp | None, Stamp | None]
    since: float
    longest_pause: float = 0.0
    tried: bool = False


@dataclass(frozen=True, slots=True)
class Settled:
    """Exports that can be taken.

    Attributes
    ----------
    complete : list of Offered
        Renamed into the inbox, or at rest for long.
    maybe_growing : list of Offered
        Closed, with a last line that has its end; who writes them may still go on.
    """

    complete: list[Offered]
    maybe_growing: list[Offered]


class Settling:
    """Tells which waiting exports have come to rest.

    No export is taken while it or its note has changed within `settle_s` or somebody on this
    machine has either open for writing. The wait also gives a note the time to follow its export.
    What was renamed into the inbox is whole then; so is what has not changed for as long as
    programs pause that copy in pieces, and for twice the longest pause seen in it. Else a last line
    without its end says that more will come, and what has all its ends may be whole.

    Parameters
    ----------
    settle_s : float
        Time [s] without change.
    arrival_of : callable
        How a file came, as the system tells it; None where it does not.
    clock, wall_clock : callable
        Monotonic and wall time [s]. Only a file's age at first sight hangs on the latter.
    """

    def __init__(
        self,
        settle_s: float,
        arrival_of: Callable[[Path], Arrival | None] = lambda _: None,
        clock: Callable[[], float] = time.monotonic,
        wall_clock: Callable[[], float] = time.time,
    ) -> None:
        self.settle_s = settle_s
        self._arrival_of = arrival_of
        self._clock = clock
        self._wall_clock = wall_clock
        self._seen: dict[Path, _Seen] = {}
        self._postponed: dict[Path, float] = {}
        self.recheck_s: float | None = None

    def ready(self, waiting: Sequence[Offered]) -> Settled:
        """Exports that have come to rest, in order.

        Afterwards `recheck_s` says in how many seconds another may; None if none waits.
        """
        now = self._clock()
        self._forget_all_but({one.path for one in waiting})
        settled, still = Settled([], []), []
        for one in waiting:
            left = self._remaining_s(one, now)
            if left <= 0.0:
                left = self._sort(one, now, settled)
            if left > 0.0:
                still.append(left)
        self.recheck_s = min(still, default=None)
        return settled

    def tried(self, path: Path) -> None:
        """Note that an export was taken as it is: it is not again before it changes or rests."""
        if path in self._seen:
            self._seen[path].tried = True

    def postpone(self, path: Path, seconds: float) -> None:
        """Leave an export alone for a while [s]."""
        self._postponed[path] = self._clock() + seconds

    def restless(self, longer_than_s: float) -> list[Path]:
        """Exports that have waited for longer than that [s] although they don't change."""
        now = self._clock()
        return sorted(p for p, seen in self._seen.items() if now - seen.since > longer_than_s)

    def _forget_all_but(self, paths: set[Path]) -> None:
        self._seen = {p: seen for p, seen in self._seen.items() if p in paths}
        self._postponed = {p: until for p, until in self._postponed.items() if p in paths}

    def _remaining_s(self, one: Offered, now: float) -> float:
        """Time [s] until an export may be looked at again; 0 if it has settled."""
        postponed = self._postponed.get(one.path, now) - now
        note = one.note
        stamps = (stamp_of(one.path), stamp_of(note) if note else None)
        seen = self._seen.get(one.path)
        if seen is None:
            seen = self._seen[one.path] = _Seen(stamps, now - self._age_s(one.path))
        elif seen.stamps != stamps:
            pause = now - seen.since if seen.stamps[0] != stamps[0] else 0.0
            longest = max(seen.longest_pause, pause)
            seen = self._seen[one.path] = _Seen(stamps, now, longest)
        left = max(self.settle_s - (now - seen.since), postponed)
        if left > 0.0:
            return left
        written = open_for_writing(one.path) or (note is not None and open_for_writing(note))
        return _RECHECK_S if written else 0.0

    def _sort(self, one: Offered, now: float, settled: Settled) -> float:
        """Put an export that has settled where it belongs; time [s] until it may belong elsewhere.

        0 if it is whole.
        """
        seen, how = self._seen[one.path], self._arrival_of(one.path)
        rested, pauses = now - seen.since, _PAUSES * seen.longest_pause
        if (
            how is Arrival.COMPLETE
            or rested >= max(PATIENT_S, pauses)
            or not _can_be_copied(one.path)
        ):
            settled.complete.append(one)
            return 0.0
        left = max(PATIENT_S, pauses) - rested
        if seen.tried or how is Arrival.WRITTEN or ends_amid_a_line(one.path):
            return left
        if rested < pauses:
            return pauses - rested
        settled.maybe_growing.append(one)
        return left

    def _age_s(self, path: Path) -> float:
        """How long a file has been as it is, by the wall clock; 0 if that can't be believed."""
        try:
            found = path.lstat()
        except OSError:
            return 0.0
        age = self._wall_clock() - max(found.st_mtime, found.st_ctime)
        return min(age, max(self.settle_s, PATIENT_S)) if age >= self.settle_s else 0.0
