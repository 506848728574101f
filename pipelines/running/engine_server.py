"""Process of a Prefect server that ends when its parent does.

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
    import uvicorn
    from prefect.server.api.server import create_app

    uvicorn.run(create_app(), host="127.0.0.1", port=int(sys.argv[1]), log_level="error")


if __name__ == "__main__":
    main()
