"""Process of a Prefect server that keeps accounts of loads, and ends when its parent does.

Run as `python -m rangeledger.pipelines.running.engine_server PORT` with a pipe as standard input.
"""

from __future__ import annotations

import os
import sys
import threading


def _end_with_parent() -> None:
    while sys.stdin.buffer.read(4096):
        pass
    os._exit(0)


def main() -> None:
    """Serve Prefect's API on the loopback address until standard input closes."""
    threading.Thread(target=_end_with_parent, daemon=True).start()
    from rangeledger.pipelines.running.engine import ACCOUNTS_VARIABLE, engine_secret
    from rangeledger.pipelines.running.engine_accounts import listen

    listen(int(os.environ[ACCOUNTS_VARIABLE]), engine_secret())
    import uvicorn
    from prefect.server.api.server import create_app

    uvicorn.run(create_app(), host="127.0.0.1", port=int(sys.argv[1]), log_level="error")


if __name__ == "__main__":
    main()
