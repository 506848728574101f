from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

_PROGRAM = """
import atexit, sys, threading
from rangeledger.warehouse.system.ending import end_at_once
go = threading.Event()
def late():
    go.wait()
    print("thread")
threading.Thread(target=late).start()
atexit.register(print, "registered")
print("x" * 10_000)
go.set()
end_at_once(7, on_refusal=lambda error: 40)
"""


def test_all_is_done_that_is_done_at_the_usual_end() -> None:
    ran = subprocess.run([sys.executable, "-c", _PROGRAM], capture_output=True, text=True)
    assert ran.returncode == 7
    assert sorted(ran.stdout.split()) == sorted(["thread", "registered", "x" * 10_000])
    assert ran.stderr == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no file that is always full")
@pytest.mark.parametrize("words", [["--help"], ["flight", "--help"]])
def test_an_answer_that_the_disk_does_not_take_is_told(words: list[str]) -> None:
    """Writing to /dev/full fails for want of space (full(4) of the Linux manual)."""
    command = [sys.executable, "-m", "rangeledger", *words]
    with open("/dev/full", "w") as full:
        ran = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True)
    assert ran.returncode == 3
    assert ran.stderr.startswith("rangeledger: The machine refused")
    assert ran.stderr.count("\n") == 1


def test_a_reader_that_has_gone_is_no_fault() -> None:
    words = [sys.executable, "-m", "rangeledger", "flight", "--help"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 0


_INTERRUPTED = """
import signal
from rangeledger.warehouse.system.ending import ended_by_interrupt
with ended_by_interrupt():
    try:
        signal.raise_signal(signal.SIGINT)
    except BaseException:
        print("swallowed", flush=True)
print("went on", flush=True)
"""


def test_an_interrupt_amid_a_load_is_swallowed_by_nobody() -> None:
    ran = subprocess.run([sys.executable, "-c", _INTERRUPTED], capture_output=True, text=True)
    told = "rangeledger: Interrupted. What was loaded so far stays; run the same command again.\n"
    assert (ran.returncode, ran.stdout, ran.stderr) == (3, "", told)


def test_what_ignores_interrupts_goes_on_doing_so() -> None:
    """As a job in the background does (SIGINT of POSIX.1-2017, asynchronous lists)."""
    ignoring = "import signal; signal.signal(signal.SIGINT, signal.SIG_IGN)" + _INTERRUPTED
    ran = subprocess.run([sys.executable, "-c", ignoring], capture_output=True, text=True)
    assert (ran.returncode, ran.stdout, ran.stderr) == (0, "went on\n", "")
