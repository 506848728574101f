"""What wakes the service: a change in the inbox, or being told to stop."""

from __future__ import annotations

import threading
from pathlib import Path

from rangeledger.pipelines.service.arrivals import Arrivals


class Waking:
    """Watches a folder and wakes whoever waits.

    Events can be lost: while nobody watches, or where the file system sends none. So the waiter
    looks by itself from time to time, and a watch that breaks only makes it slower.

    Attributes
    ----------
    arrivals : Arrivals
        How the files of the folder came.
    broken : str
        Why nobody watches; empty if somebody does.
    """

    def __init__(self, folder: Path) -> None:
        self._stop = threading.Event()
        self._woken = threading.Event()
        self.arrivals = Arrivals(folder, self._woken.set)
        self.broken: str = ""

    def start(self) -> None:
        """Begin to watch."""
        try:
            self.arrivals.start()
        except OSError as error:
            self.broken = str(error)

    @property
    def stopping(self) -> bool:
        """Whether the service is told to stop."""
        return self._stop.is_set()

    def stop(self) -> None:
        """Tell the service to stop."""
        self._stop.set()
        self._woken.set()

    def close(self) -> None:
        """Watch no longer."""
        self.arrivals.stop()

    def wait(self, seconds: float) -> bool:
        """Wait for a change, at most so long [s]; returns whether there was one."""
        woken = self._woken.wait(max(seconds, 0.0))
        self._woken.clear()
        return woken

    def pause(self, seconds: float) -> None:
        """Wait so long [s], whatever changes, unless told to stop."""
        self._stop.wait(seconds)
