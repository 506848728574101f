"""An export as bytes, with all that reading it needs: what is sent to another machine."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from queue import Empty, LifoQueue

from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.pipelines.loading.reader_process import Reading
from rangeledger.pipelines.loading.reading_limits import Ended, Limit
from rangeledger.pipelines.loading.reading_partner import Partner
from rangeledger.pipelines.reader.normalising.zones import machine_zone
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults


@dataclass(frozen=True, slots=True)
class Carried:
    """An export on its way.

    Attributes
    ----------
    file_name : str
        Name under which it was offered.
    path_name : str
        Name of its file.
    export : bytes
        The file.
    note : tuple of (str, bytes) or None
        Name and bytes of the note beside it.
    mappings : tuple of (str, bytes)
        The user's heading maps.
    defaults : ReadingDefaults
        With the zone of the machine that sends it, where the settings name none.
    read : callable
        What is done with it.
    limit : Limit
        What that may take.
    """

    file_name: str
    path_name: str
    export: bytes
    note: tuple[str, bytes] | None
    mappings: tuple[tuple[str, bytes], ...]
    defaults: ReadingDefaults
    read: Reading
    limit: Limit


def carry(
    home: Home,
    defaults: ReadingDefaults | None,
    offered: Offered,
    read: Reading,
    limit: Limit,
) -> Carried:
    """Take up an export to send it.

    Raises
    ------
    OSError
        If a file of it can't be read, or is a link.
    """
    if offered.path.is_symlink():
        raise OSError(f"{offered.path} is a link")
    known = defaults or ReadingDefaults()
    note = offered.note
    return Carried(
        offered.file_name,
        offered.path.name,
        offered.path.read_bytes(),
        (note.name, note.read_bytes()) if note is not None else None,
        tuple((file.name, file.read_bytes()) for file in sorted(home.mappings.glob("*.toml"))),
        replace(known, zone=known.zone or machine_zone()),
        read,
        limit,
    )


def read_carried(carried: Carried) -> ReadResult | Ended:
    """Read an export that was sent; it can end a child of this process, but not this process.

    Raises
    ------
    OSError
        If it can't be written down, or no child can be started.
    """
    with _desk(carried.read, carried.mappings) as desk:
        return desk.read(carried)


class _Desk:
    """A folder in which exports that came are put down, and the child that reads them there.

    Parameters
    ----------
    read : callable
        What is done with each.
    mappings : tuple of (str, bytes)
        The heading maps that hold for all of them.
    """

    def __init__(self, read: Reading, mappings: tuple[tuple[str, bytes], ...]) -> None:
        self.suits = (read, mappings)
        self._home = Home(Path(tempfile.mkdtemp(prefix="rangeledger-reading-")))
        for folder in self._home.folders:
            folder.mkdir(parents=True)
        for name, text in mappings:
            (self._home.mappings / name).write_bytes(text)
        self._partner = Partner(self._home, read)

    def read(self, carried: Carried) -> ReadResult | Ended:
        """Put an export down, have it read, and clear the desk."""
        path = self._home.inbox / carried.path_name
        try:
            path.write_bytes(carried.export)
            if carried.note is not None:
                name, text = carried.note
                (self._home.inbox / name).write_bytes(text)
            offered = Offered(path, carried.file_name)
            return self._partner.read(carried.defaults, offered, carried.limit)
        finally:
            for file in self._home.inbox.iterdir():
                file.unlink()

    def leave(self) -> None:
        """End the child and remove the folder."""
        self._partner.end()
        shutil.rmtree(self._home.root, ignore_errors=True)


_free: LifoQueue[_Desk] = LifoQueue()


@contextmanager
def _desk(read: Reading, mappings: tuple[tuple[str, bytes], ...]) -> Iterator[_Desk]:
    """A desk for one thread; it is kept for the next export that it suits."""
    try:
        desk = _free.get_nowait()
    except Empty:
        desk = None
    if desk is None or desk.suits != (read, mappings):
        if desk is not None:
            desk.leave()
        desk = _Desk(read, mappings)
    try:
        yield desk
    finally:
        _free.put(desk)


@atexit.register
def _leave_all() -> None:
    with suppress(Empty):
        while True:
            _free.get_nowait().leave()
