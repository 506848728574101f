from __future__ import annotations

import threading
import time

from rangeledger.warehouse.runaways import Runaways, ThreadUse, threads_of_this_process


def test_a_thread_that_never_pauses_is_told_from_busy_and_idle_ones() -> None:
    uses = [
        {
            1: ThreadUse(10 * n, 0),  # never pauses
            2: ThreadUse(10 * n, 500 * n),  # answers many short statements
            3: ThreadUse(7, 3),  # idle, with a result that nobody fetches
        }
        for n in range(4)
    ]
    watch = Runaways(lambda: uses.pop(0))
    assert [watch.look(1.0) for _ in range(4)] == [[], [1.0], [2.0], [3.0]]


def test_a_pause_begins_the_count_anew() -> None:
    uses = [{1: ThreadUse(ticks, waits)} for ticks, waits in ((1, 0), (9, 0), (9, 1), (12, 1))]
    watch = Runaways(lambda: uses.pop(0))
    assert [watch.look(1.0) for _ in range(4)] == [[], [1.0], [], [1.0]]


def test_threads_of_this_process_are_read_from_the_system() -> None:
    stop = threading.Event()

    def spin() -> None:
        while not stop.is_set():
            pass

    thread = threading.Thread(target=spin)
    thread.start()
    number = thread.native_id
    assert number is not None
    first = threads_of_this_process()[number]
    deadline = time.monotonic() + 30
    while threads_of_this_process()[number].ticks <= first.ticks:
        assert time.monotonic() < deadline
    stop.set()
    thread.join()
