"""How often a whole database is copied into the bucket."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

# A database smaller than this [bytes] is copied with every publication.
SMALL: Final = 64 * 2**20
# Copying a larger one takes one part in so many of the time.
_ONE_IN: Final = 20


class CopyPace:
    """When a database is due to be copied: at once while it is small, now and then when it is not.

    Parameters
    ----------
    clock : callable
        Seconds that never go back.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock, self._not_before = clock, 0.0

    def is_due(self, size: int) -> bool:
        """Whether a database of so many bytes is to be copied now."""
        return size < SMALL or self._clock() >= self._not_before

    @contextmanager
    def timed(self) -> Iterator[None]:
        """Take the time of a copy, on which it hangs when the next is due."""
        began = self._clock()
        yield
        self._not_before = self._clock() + (_ONE_IN - 1) * (self._clock() - began)
