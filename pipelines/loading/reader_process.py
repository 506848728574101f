"""The process that reads exports for another; `pipelines.loading.readers` starts it and ends it.

It is forked from a helper process that has imported `before_forking` and nothing else, so that it
starts at once and shares the memory of what is imported.
"""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from multiprocessing.connection import Connection

from rangeledger.pipelines.loading.forking import end_with_parent
from rangeledger.pipelines.loading.handed_over import send_result
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.loading.read_one import ReadResult
from rangeledger.schemas.errors import ExportError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.settings import ReadingDefaults
from rangeledger.warehouse.system.limits import bound_processor_time, end_first

Reading = Callable[[Home, ReadingDefaults | None, Offered], ReadResult]


def serve(connection: Connection, home: Home, read: Reading) -> None:
    """Read one export after another until the other end of the connection closes.

    Parameters
    ----------
    connection : multiprocessing.connection.Connection
        Gives (defaults, export, most processor time [s]) and takes results.
    home : Home
    read : callable
        Reads one export.
    """
    for number in (signal.SIGINT, signal.SIGTERM):  # they are for the process that loads
        signal.signal(number, signal.SIG_IGN)
    os.environ["POLARS_MAX_THREADS"] = "1"  # several processes share the processors already
    end_first()
    end_with_parent()
    while True:
        try:
            defaults, offered, most_s = connection.recv()
            bound_processor_time(most_s)
            send_result(connection, _plain(read(home, defaults, offered)), home.state)
        except (EOFError, BrokenPipeError):
            return


def _plain(result: ReadResult) -> ReadResult:
    """The result without what can't be sent, or what nobody needs again."""
    if result.export is not None:
        result.export.leave_lines()
    if result.refusal is None:
        return result
    failure = result.refusal
    refusal = ExportError(str(failure), failure.code, failure.mapping)
    return ReadResult(None, refusal, result.left_because, result.seconds)
