"""Runs a command until standard input closes: at the latest when whoever started it is gone.

    python keeper.py SIGNAL USER COMMAND...

SIGNAL asks the command to end; USER runs it ('' for the same user). The first line that it prints
is the command's process number.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading

_GRACE_S = 5.0


def main(ending: str, user: str, *command: str) -> None:
    """Run the command, and see that it does not outlive standard input."""
    for number in (signal.SIGINT, signal.SIGTERM):  # they are for whoever started this
        signal.signal(number, signal.SIG_IGN)
    process = subprocess.Popen(
        command, user=user or None, group=user or None, extra_groups=[] if user else None,
        stdin=subprocess.DEVNULL, stdout=sys.stderr, start_new_session=True, restore_signals=True,
    )  # fmt: skip
    print(process.pid, flush=True)
    threading.Thread(target=_end_with, args=(process,), daemon=True).start()
    sys.stdin.buffer.read()
    process.send_signal(int(ending))
    try:
        process.wait(_GRACE_S)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


def _end_with(process: subprocess.Popen[bytes]) -> None:
    process.wait()
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
