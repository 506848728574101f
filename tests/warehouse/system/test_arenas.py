"""The service's bound on the arenas of the C library."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

# Eight threads at once need an arena each, if they may have one; glibc itself tells how many.
_COUNT = """
import ctypes, sys, threading
from rangeledger.warehouse.system.arenas import bound_arenas

if "bound" in sys.argv:
    assert bound_arenas(2)
libc = ctypes.CDLL(None)
libc.malloc.restype, libc.fopen.restype = ctypes.c_void_p, ctypes.c_void_p
libc.malloc.argtypes = [ctypes.c_size_t]
libc.malloc_info.argtypes = [ctypes.c_int, ctypes.c_void_p]
libc.fclose.argtypes = [ctypes.c_void_p]
together = threading.Barrier(8)

def take():
    together.wait()
    libc.malloc(4096)
    together.wait()

threads = [threading.Thread(target=take) for _ in range(8)]
for thread in threads:
    thread.start()
for thread in threads:
    thread.join()
file = libc.fopen(sys.argv[1].encode(), b"w")
libc.malloc_info(0, file)
libc.fclose(file)
"""


def _arenas(told: Path, *words: str) -> int:
    subprocess.run([sys.executable, "-c", _COUNT, str(told), *words], check=True)
    return told.read_text().count("<heap nr=")


def test_threads_share_two_arenas(tmp_path: Path) -> None:
    assert _arenas(tmp_path / "free.xml") > 2
    assert _arenas(tmp_path / "bound.xml", "bound") <= 2
