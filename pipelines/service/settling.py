"""When an export has come to rest: whole, closed, and with its note beside it."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rangeledger.pipelines.loading.offered import Offered, Stamp, open_for_writing, stamp_of

# How soon to look again at a file that rests but that another program still has open.
_LOOK_AGAIN_S = 0.25


@dataclass(slots=True)
class _Seen:
    """What a file and its note looked like, and since when [s, monotonic clock]."""

    stamps: tuple[Stamp | None, Stamp | None]
    since: float


class Settling:
    """Tells which waiting exports have come to rest.

    An export rests when neither it nor its note has changed for `settle_s` and nobody on this
    machine has either open for writing. The wait also gives a note the time to follow its export.
    What has been lying there unchanged for longer, as after a restart, is ready at first sight.

    Parameters
    ----------
    settle_s : float
        Time [s] without change.
    clock, wall_clock : callable
        Monotonic and wall time [s]. Only a file's age at first sight hangs on the latter.
    """

    def __init__(
        self,
        settle_s: float,
        clock: Callable[[], float] = time.monotonic,
        wall_clock: Callable[[], float] = time.time,
    ) -> None:
        self.settle_s = settle_s
        self._clock = clock
        self._wall_clock = wall_clock
        self._seen: dict[Path, _Seen] = {}
        self._postponed: dict[Path, float] = {}
        self.look_again_s: float | None = None

    def ready(self, waiting: Sequence[Offered]) -> list[Offered]:
        """Exports that have come to rest, in order.

        Afterwards `look_again_s` says in how many seconds another may; None if none waits.
        """
        now = self._clock()
        self._forget_all_but({one.path for one in waiting})
        remaining = {one.path: self._remaining_s(one, now) for one in waiting}
        still = [left for left in remaining.values() if left > 0.0]
        self.look_again_s = min(still, default=None)
        return [one for one in waiting if remaining[one.path] <= 0.0]

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
        postponed = self._postponed.get(one.path, now) - now
        note = one.note
        stamps = (stamp_of(one.path), stamp_of(note) if note else None)
        seen = self._seen.get(one.path)
        if seen is None or seen.stamps != stamps:
            age = self._age_s(one.path) if seen is None else 0.0
            seen = self._seen[one.path] = _Seen(stamps, now - age)
        left = max(self.settle_s - (now - seen.since), postponed)
        if left > 0.0:
            return left
        written = open_for_writing(one.path) or (note is not None and open_for_writing(note))
        return _LOOK_AGAIN_S if written else 0.0

    def _age_s(self, path: Path) -> float:
        """How long a file has been as it is, by the wall clock; 0 if that can't be believed."""
        try:
            found = path.lstat()
        except OSError:
            return 0.0
        age = self._wall_clock() - max(found.st_mtime, found.st_ctime)
        return self.settle_s if age >= self.settle_s else 0.0
