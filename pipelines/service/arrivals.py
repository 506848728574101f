"""What the system tells of the files that come into the inbox: whole, being written, or closed."""

from __future__ import annotations

import logging
import os
import sys
import threading
from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from watchdog.events import FileSystemEvent
    from watchdog.observers.api import BaseObserver

# At a stop the library tells of events that nobody waits for any more; without a handler that would
# be printed.
logging.getLogger("watchdog").addHandler(logging.NullHandler())

# Paths of files that are gone are forgotten when so many are known.
_MANY = 10_000


class Arrival(Enum):
    """How a file came to be as it is."""

    COMPLETE = "whole"  # renamed or linked into place
    WRITTEN = "written"  # changed, and not closed since
    CLOSED = "closed"  # closed by who wrote it


class Arrivals:
    """Watches a folder and the folders in it, and remembers how each file came.

    Parameters
    ----------
    folder : Path
    on_change : callable
        Called, in a thread of its own, when something changes.

    Notes
    -----
    Only Linux tells of files that are closed or renamed into place (inotify(7)); elsewhere nothing
    is remembered, and files must rest.
    """

    def __init__(self, folder: Path, on_change: Callable[[], None]) -> None:
        self._folder, self._on_change = folder, on_change
        self._known: dict[str, Arrival] = {}
        self._lock = threading.Lock()
        self._observer: BaseObserver | None = None

    def start(self) -> None:
        """Begin to watch.

        Raises
        ------
        OSError
            If the system can't watch the folder.
        """
        from watchdog.events import FileSystemEventHandler

        arrivals = self

        class Handler(FileSystemEventHandler):
            """Hands events on."""

            def on_any_event(self, event: FileSystemEvent) -> None:
                """Note one event."""
                arrivals.note(event)

        self._observer = _observer()
        self._observer.schedule(Handler(), str(self._folder), recursive=True)
        self._observer.start()

    def stop(self) -> None:
        """Watch no longer."""
        if self._observer is not None:
            self._observer.stop()
            self._observer.join()

    def of(self, path: Path) -> Arrival | None:
        """How a file came, as far as the system has told."""
        with self._lock:
            return self._known.get(os.fspath(path))

    def note(self, event: FileSystemEvent) -> None:
        """Take in what the system tells."""
        path = os.fsdecode(event.dest_path or event.src_path)
        if not event.is_directory:
            with self._lock:
                self._note_file(path, event.event_type)
        self._on_change()

    def _note_file(self, path: str, kind: str) -> None:
        if len(self._known) > _MANY:
            self._known = {p: how for p, how in self._known.items() if os.path.lexists(p)}
        if kind == "moved" or (kind == "created" and os.path.dirname(path) == str(self._folder)):
            # Of files in a folder that is new itself, events may have been missed.
            self._known[path] = Arrival.COMPLETE
        elif kind in ("created", "modified"):
            self._known[path] = Arrival.WRITTEN
        elif kind == "closed":
            self._known[path] = Arrival.CLOSED


def _observer() -> BaseObserver:
    """Who watches folders on this system."""
    if not sys.platform.startswith("linux"):
        from watchdog.observers import Observer

        return Observer()
    from watchdog.observers.api import BaseObserver
    from watchdog.observers.inotify import InotifyFullEmitter
    from watchdog.observers.inotify_c import InotifyConstants, Mask

    events = (
        InotifyConstants.IN_CREATE | InotifyConstants.IN_MODIFY | InotifyConstants.IN_CLOSE_WRITE
        | InotifyConstants.IN_MOVED_TO | InotifyConstants.IN_DELETE_SELF
    )  # fmt: skip

    class Emitter(InotifyFullEmitter):
        """Leaves out what moves away: the library would hold up what follows for half a second."""

        def get_event_mask_from_filter(self) -> Mask:
            """What the kernel is asked to tell."""
            return Mask(events)

    return BaseObserver(Emitter)
