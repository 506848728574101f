"""How the watching service fares, for monitors: whether it works, and numbers.

They are asked on the loopback address, without a secret: they name no player and no export.
"""

from __future__ import annotations

import json
import os
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running.fit_faults import fit_faults
from rangeledger.pipelines.service.presence import Presence
from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse import lake
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.metrics_text import KIND, metrics_text

# Who does not read its answer for so long [s] is let go.
_PATIENCE_S = 10.0


def watch_numbers(home: Home, presence: Presence, began: float) -> dict[str, float]:
    """Counts, ages and faults of a home that is watched.

    Parameters
    ----------
    home : Home
    presence : Presence
        Word of the service.
    began : float
        When it started [s since 1970].
    """
    now = time.time()
    waiting = [one.path for one in inbox.waiting(home)]
    ages = [now - when for path in waiting if (when := _changed(path)) is not None]
    published = _changed(home.database)
    return {
        "running_seconds": now - began,
        "problem": float(bool(presence.problem)),
        "waiting_exports": len(waiting),
        "oldest_waiting_seconds": max(ages, default=0.0),
        "quarantined_exports": sum(1 for _ in home.quarantine.glob("*.reason.txt")),
        "loaded_exports_total": presence.loaded,
        "loads": len(lake.batch_numbers(home)),
        "player_faults": len(fit_faults(home)),
        "publication_age_seconds": now - published if published is not None else float("nan"),
        "free_bytes": shutil.disk_usage(home.root).free,
    }


def _changed(path: Path) -> float | None:
    try:
        return os.lstat(path).st_mtime
    except OSError:
        return None


@contextmanager
def health_pages(home: Home, presence: Presence, port: int | None) -> Iterator[int | None]:
    """Answer monitors at a port of the loopback address for this block; without a port, nothing.

    Raises
    ------
    HomeError
        If the port is taken.
    """
    if port is None:
        yield None
        return
    began = time.time()

    class Page(BaseHTTPRequestHandler):
        """Answers one request."""

        timeout = _PATIENCE_S

        def do_GET(self) -> None:
            """Answer /health and /metrics."""
            if self.path == "/health":
                problem = bool(presence.problem)
                word = {"status": "problem" if problem else "ok", "doing": presence.doing}
                self._send(503 if problem else 200, json.dumps(word) + "\n", "application/json")
            elif self.path == "/metrics":
                numbers = watch_numbers(home, presence, began)
                self._send(200, metrics_text("rangeledger_watch", numbers), KIND)
            else:
                self._send(404, "There is no such page.\n", "text/plain")

        def _send(self, status: int, text: str, kind: str) -> None:
            body = text.encode()
            self.send_response(status)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            """Keep standard error for the log."""

    try:
        server = ThreadingHTTPServer(("127.0.0.1", port), Page)
    except OSError as error:
        raise HomeError(
            f"Monitors can't ask at port {port} ({error.strerror}). Name another --health-port."
        ) from error
    threading.Thread(target=server.serve_forever, name="health", daemon=True).start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        server.server_close()
