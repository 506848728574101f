"""Handing a result from the process that read an export to the one that loads it.

Many shots go through a file without a name, which the other side maps into its memory: pickled they
would lie in each of the two processes twice more at once.
"""

from __future__ import annotations

import os
from multiprocessing.connection import Connection
from multiprocessing.reduction import recv_handle, send_handle
from pathlib import Path
from tempfile import TemporaryFile
from typing import IO

import polars as pl
from rangeledger.pipelines.loading.read_one import ReadResult

MANY_BYTES = 1 << 26


def send_result(connection: Connection, result: ReadResult, folder: Path) -> None:
    """Send a result; its shots go by themselves where they are many.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection
        A socket: one end of a pipe for both ways.
    result : ReadResult
        Its export has no shots any more, if they went by themselves.
    folder : Path
        Where a file without a name may be written; where it can't, all goes in one piece.
    """
    export = result.export
    if export is None or export.shots.estimated_size() < MANY_BYTES:
        connection.send((result, False))
        return
    try:
        file = _written(export.shots, folder)
    except (OSError, pl.exceptions.PolarsError):  # no room on the disk
        connection.send((result, False))
        return
    with file:
        export.shots = export.shots.clear()
        connection.send((result, True))
        send_handle(connection, file.fileno(), 0)  # whose it becomes is asked on Windows alone


def _written(shots: pl.DataFrame, folder: Path) -> IO[bytes]:
    file = TemporaryFile(dir=folder)  # noqa: SIM115  whoever sends it closes it
    try:
        shots.write_ipc(file)
        file.flush()
    except BaseException:
        file.close()
        raise
    return file


def receive_result(connection: Connection) -> ReadResult:
    """Receive what `send_result` sends.

    Raises
    ------
    EOFError, OSError
        The other side has gone.
    """
    import pyarrow as pa

    result, by_themselves = connection.recv()
    assert isinstance(result, ReadResult)
    if by_themselves and result.export is not None:
        descriptor = recv_handle(connection)
        try:
            with pa.memory_map(f"/dev/fd/{descriptor}") as mapped:
                table = pa.ipc.open_file(mapped).read_all()
        finally:
            os.close(descriptor)
        shots = pl.from_arrow(table)
        assert isinstance(shots, pl.DataFrame)
        result.export.shots = shots
    return result
