"""How often a drain of many batches fits and publishes in between."""

from __future__ import annotations

import time

_SHARE = 0.05
_LEAST_S = 30.0


class Pace:
    """Says when fitting and publishing are due again.

    Both cost more the more the ledger holds, so a drain of half a minute does without, and a long
    one gives them a small part of its time; readers see what is loaded that much later. The last
    batch always ends with them.
    """

    def __init__(self) -> None:
        self._due = time.monotonic() + _LEAST_S

    def is_due(self) -> bool:
        """Whether enough time has passed since the last time."""
        return time.monotonic() >= self._due

    def done(self, seconds: float) -> None:
        """Note that fitting and publishing took so many seconds [s] just now."""
        self._due = time.monotonic() + max(_LEAST_S, seconds / _SHARE)
