"""Runs a command until standard input closes: at the latest when whoever started it is gone.

    python keeper.py SIGNAL USER FOLDER COMMAND...

SIGNAL asks the command to end; USER runs it ('' for the same user); FOLDER is removed afterwards
('' for none). The first line that it prints is the command's process number.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading

_GRACE_S = 5.0


def main(ending: str, user: str, folder: str, *command: str) -> None:
    """Run the command, and see that it does not outlive standard input."""
    for number in (signal.SIGINT, signal.SIGTERM):  # they are for whoever started this
        signal.signal(number, signal.SIG_IGN)
    process = subprocess.Popen(
        command, user=user or None, group=user or None, extra_groups=[] if user else None,
        stdin=subprocess.DEVNULL, stdout=sys.stderr, start_new_session=True, restore_signals=True,
    )  # fmt: skip
    print(process.pid, flush=True)
    threading.Thread(target=_end_with, args=(process, folder), daemon=True).start()
    sys.stdin.buffer.read()
    os.close(0)  # who looks whether somebody reads there finds nobody from now on
    process.send_signal(int(ending))
    try:
        process.wait(_GRACE_S)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    if folder:
        shutil.rmtree(folder, ignore_errors=True)


def _end_with(process: subprocess.Popen[bytes], folder: str) -> None:
    process.wait()
    if folder:
        shutil.rmtree(folder, ignore_errors=True)
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
