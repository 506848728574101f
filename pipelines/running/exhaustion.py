"""An export that exhausts the machine while it is loaded is refused at the next start.

Reading goes on in processes with limits of their own. What comes after it, in the process that
loads, is watched by a thread: before the kernel ends the process for want of memory, or when a
load takes longer than any should, the thread notes which exports it was about and ends the process
itself. The next start loads each of several by itself, and refuses one that was alone.
"""

from __future__ import annotations

import json
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from rangeledger.pipelines.loading.file_names import place_text
from rangeledger.pipelines.loading.offered import Offered, stamp_of
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically
from rangeledger.warehouse.system.memory import Memory, memory_now

MEMORY, TIME = "memory", "time"
# Some ten times what a load takes on a slow machine.
_SECONDS, _SECONDS_A_FILE, _SECONDS_A_MIB = 600.0, 10.0, 20.0
# A machine with less free than this share of its memory, or MiB, is about to end somebody.
_LEAST_SHARE, _LEAST_MIB = 0.03, 256.0
# Other programs are at fault where the load has taken less than this share.
_OWN_SHARE = 0.2
_POLL_S = 0.2
_MIB = 2**20
_EXIT_CODE = 3


def _note(home: Home) -> Path:
    return home.state / "exhausted.json"


def end_process(sentence: str) -> None:
    """End the process; what it holds is given back to the machine at once."""
    sys.stderr.write(f"rangeledger: {sentence}\n")
    sys.stderr.flush()
    os._exit(_EXIT_CODE)


@contextmanager
def watched(
    home: Home,
    batch: Sequence[Offered],
    *,
    end: Callable[[str], None] = end_process,
    memory: Callable[[], Memory] = memory_now,
    clock: Callable[[], float] = time.monotonic,
) -> Iterator[None]:
    """Watch what a load takes for this block.

    Parameters
    ----------
    home : Home
    batch : sequence of Offered
        The exports that are loaded.
    end : callable
        Ends the process, and is told why.
    memory : callable
        How much memory there is.
    clock : callable
        Monotonic time [s].
    """
    sizes = [stamp.size if (stamp := stamp_of(one.path)) else 0 for one in batch]
    most_s = _SECONDS + _SECONDS_A_FILE * len(batch) + _SECONDS_A_MIB * sum(sizes) / _MIB
    latest = clock() + most_s

    def exhausted(why: str) -> None:
        _leave_note(home, batch, why)
        end(_sentence(batch, why))

    with guarded(lambda: clock() > latest, exhausted, memory=memory):
        yield


@contextmanager
def guarded(
    is_late: Callable[[], bool],
    exhausted: Callable[[str], None],
    *,
    memory: Callable[[], Memory] = memory_now,
) -> Iterator[None]:
    """Watch what this process takes for this block, in a thread.

    Parameters
    ----------
    is_late : callable
        Whether the work takes too long.
    exhausted : callable
        Called once with what is exhausted, `memory` or `time`.
    memory : callable
        How much memory there is.
    """
    done, at_first = threading.Event(), memory().own

    def watch() -> None:
        while not done.wait(_POLL_S):
            now = memory()
            is_little = now.left < max(_LEAST_MIB, _LEAST_SHARE * now.in_all)
            if is_little and now.own - at_first > _OWN_SHARE * now.in_all:
                why = MEMORY
            elif is_late():
                why = TIME
            else:
                continue
            exhausted(why)
            return

    thread = threading.Thread(target=watch, name="exhaustion", daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()


def _sentence(batch: Sequence[Offered], why: str) -> str:
    subject = batch[0].file_name if len(batch) == 1 else f"{len(batch)} exports"
    cause = "took nearly all memory" if why == MEMORY else "took too long"
    return (
        f"Loading {subject} {cause} and was ended; nothing of it was loaded. Run the same command "
        "again: what can be loaded is, and the export at fault is refused."
    )


def _leave_note(home: Home, batch: Sequence[Offered], why: str) -> None:
    files = [_as_noted(home, one) for one in batch]
    note = {"why": why, "files": [file for file in files if file is not None]}
    write_atomically(_note(home), json.dumps(note))


def _as_noted(home: Home, one: Offered) -> list[str | int] | None:
    """Place, size and time of a file of the inbox; None for one that is gone, or lies elsewhere."""
    path = _original(one)
    stamp = stamp_of(path)
    if stamp is None or not path.is_relative_to(home.inbox):
        return None
    return [place_text(path.relative_to(home.inbox)), stamp.size, stamp.modified_ns]


def _original(one: Offered) -> Path:
    return one.may_grow or one.path


def suspects(home: Home, offered: Sequence[Offered]) -> tuple[dict[Path, str], list[Offered]]:
    """Which of some exports an earlier load was about that exhausted the machine.

    Returns
    -------
    refused : dict of Path to str
        An export that was alone, with what it exhausted.
    alone : list of Offered
        Exports to load each by itself.
    """
    try:
        noted = json.loads(_note(home).read_text(encoding="utf-8"))
        files, why = list(noted["files"]), str(noted["why"])
    except (OSError, ValueError, KeyError, TypeError):
        return {}, []
    found = [one for one in offered if _as_noted(home, one) in files]
    if len(files) == 1:
        return {one.path: why for one in found}, []
    return {}, found


def forget_suspects(home: Home) -> None:
    """Remove the note: what it named is loaded or refused."""
    _note(home).unlink(missing_ok=True)


def refusal(one: Offered, why: str) -> ExportError:
    """Why an export is refused that exhausted the machine."""
    if why == MEMORY:
        return ExportError(
            f"Loading {one.file_name} took nearly all memory of the machine and was ended; nothing "
            "of it was loaded. Export fewer shots into one file, or load it on a larger machine.",
            FileReason.TOO_LARGE.value,
        )
    return ExportError(
        f"Loading {one.file_name} took too long and was ended; nothing of it was loaded. Export "
        "fewer shots into one file; if it is a small file, report it.",
        FileReason.FAULT.value,
    )
