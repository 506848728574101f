"""What wakes the service: a change in the inbox, or being told to stop."""

from __future__ import annotations

import threading
from pathlib import Path

_DEBOUNCE_MS = 200
_STEP_MS = 30
_TICK_MS = 1000


class Waking:
    """Watches a folder in a thread and wakes whoever waits.

    Events can be lost: while nobody watches, or where the file system sends none. So the waiter
    looks by itself from time to time, and a watch that breaks only makes it slower.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._stop = threading.Event()
        self._woken = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="inbox", daemon=True)
        self.broken: str = ""

    def start(self) -> None:
        """Begin to watch."""
        self._thread.start()

    @property
    def stopping(self) -> bool:
        """Whether the service is told to stop."""
        return self._stop.is_set()

    def stop(self) -> None:
        """Tell the service to stop."""
        self._stop.set()
        self._woken.set()

    def wait(self, seconds: float) -> bool:
        """Wait for a change, at most so long [s]; returns whether there was one."""
        woken = self._woken.wait(max(seconds, 0.0))
        self._woken.clear()
        return woken

    def rest(self, seconds: float) -> None:
        """Wait so long [s], whatever changes, unless told to stop."""
        self._stop.wait(seconds)

    def _watch(self) -> None:
        from watchfiles import watch

        try:
            for changes in watch(
                self._folder,
                watch_filter=None,
                debounce=_DEBOUNCE_MS,
                step=_STEP_MS,
                rust_timeout=_TICK_MS,
                yield_on_timeout=True,
                stop_event=self._stop,
                raise_interrupt=False,
            ):
                if changes:
                    self._woken.set()
        except (OSError, RuntimeError) as error:
            self.broken = str(error)
            self._woken.set()
