"""Processes that load a home and are killed on the way.

`Killer` starts one process that imports everything and then forks a child for each load, so that
a kill costs no start of Python. The child either kills itself before its nth durable operation
(a rename, a sync, a removal, a folder, a Parquet file, a transaction), which reaches every gap
between two of them, or is killed from outside after some time.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

# Columns that hang on the clock or on which command happened to do the work.
CLOCK_COLUMNS = ("offered_at", "seconds", "fitted_at", "details")


@dataclass(frozen=True)
class Ended:
    """How a process ended: 'done', 'killed' or 'failed', after how many operations, with what."""

    how: str
    operations: int = 0
    error: str = ""


class Killer:
    """Runs loads of homes in processes of their own; a context manager.

    Parameters
    ----------
    engine : str or None
        Address of a Prefect server to load through; None means the plain steps.
    """

    def __init__(self, engine: str | None = None) -> None:
        words = [sys.executable, "-m", "tests.pipelines.killing", engine or ""]
        self._process = subprocess.Popen(
            words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def __enter__(self) -> Killer:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.communicate()

    def load(self, root: Path, **fate: float) -> Ended:
        """Load what waits in a home.

        Parameters
        ----------
        root : Path
            The home.
        **fate
            `kill_at`: number of the durable operation before which the process is killed;
            `kill_after_s`: time [s] after which it is; `file_bytes`: largest file it may write.
        """
        (ended,) = self.load_at_once([(root, fate)])
        return ended

    def load_at_once(self, loads: Sequence[tuple[Path, dict[str, float]]]) -> list[Ended]:
        """Have several processes load what waits in homes, each with a fate, at the same time."""
        names = ("kill_at", "kill_after_s", "file_bytes")
        requests = [
            {"root": str(root)} | {name: fate.get(name) for name in names} for root, fate in loads
        ]
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(requests) + "\n")
        self._process.stdin.flush()
        return [Ended(**one) for one in json.loads(self._process.stdout.readline())]


def contents(root: Path) -> dict[str, Any]:
    """All that a home promises, apart from the clock: views, archive, quarantine, inbox."""
    import duckdb

    found: dict[str, Any] = {}
    with duckdb.connect(str(root / "rangeledger.duckdb"), read_only=True) as connection:
        names = connection.execute(
            "SELECT view_name FROM duckdb_views() WHERE NOT internal AND schema_name = 'main'"
        ).fetchall()
        for (name,) in names:
            rows = connection.execute(f"FROM {name}").pl()
            kept = [c for c in rows.columns if c not in CLOCK_COLUMNS]
            found[name] = sorted(map(repr, rows.select(kept).iter_rows()))
    for folder in ("archive", "quarantine", "inbox"):
        files = sorted(p for p in (root / folder).rglob("*") if p.is_file())
        found[folder] = {
            str(p.relative_to(root / folder)): hashlib.sha256(_told(p, root)).hexdigest()
            for p in files
        }
    return found


def _told(path: Path, root: Path) -> bytes:
    """Bytes of a file; a reason names the home, which differs from test to test."""
    return path.read_bytes().replace(str(root).encode(), b"HOME")


def different(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    """Names of what two homes do not agree on."""
    return sorted(name for name in one | other if one.get(name) != other.get(name))


class Operations:
    """Counts durable operations, and does something before the one that is asked for.

    Parameters
    ----------
    at : int or None
        Number of the operation, from 1.
    happens : callable
        What happens there; by default the process is killed.

    Attributes
    ----------
    count : int
        Operations so far.
    places : list of tuple of str
        By which calls of the package each was reached.
    """

    def __init__(self, at: int | None, happens: Callable[[], None] | None = None) -> None:
        self.count = 0
        self.places: list[tuple[str, ...]] = []
        self._at = at
        self._happens = happens or _die

    def tick(self) -> None:
        """Count one more, and note by which calls of ours it was reached."""
        self.count += 1
        self.places.append(tuple(_calls_of_ours()))
        if self.count == self._at:
            self._happens()

    def before(self, function: Callable[..., Any]) -> Callable[..., Any]:
        def counted(*words: Any, **named: Any) -> Any:
            self.tick()
            return function(*words, **named)

        return counted

    def around(self, transaction: Callable[..., Any]) -> Callable[..., Any]:
        @contextlib.contextmanager
        def counted(connection: Any) -> Iterator[None]:
            self.tick()
            with transaction(connection):
                yield
                self.tick()
            self.tick()

        return counted

    def hook(self, put: Callable[[Any, str, Any], None] = setattr) -> None:
        """Have the operations counted from now on."""
        from rangeledger.warehouse import database, lake, publishing

        for name in ("replace", "fsync", "unlink", "mkdir", "rmdir"):
            put(os, name, self.before(getattr(os, name)))
        put(lake.pq, "write_table", self.before(lake.pq.write_table))
        put(database, "transaction", self.around(database.transaction))
        put(publishing, "clone", self.before(publishing.clone))


def _calls_of_ours() -> Iterator[str]:
    """File and line of each call of the package on the stack, innermost first."""
    frame = sys._getframe(2)
    while frame is not None:
        if "rangeledger" in frame.f_globals.get("__name__", ""):
            yield f"{frame.f_code.co_filename}:{frame.f_lineno}"
        frame = frame.f_back  # type: ignore[assignment]


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def load_all(root: Path, engine: str = "", batch_files: int = 4) -> None:
    """Load what waits in a home, in small batches, up to the published fits."""
    from rangeledger.pipelines.loading import inbox
    from rangeledger.pipelines.running import ledger
    from rangeledger.warehouse.home import Home
    from rangeledger.warehouse.opening import open_home

    home = open_home(Home(root))
    if engine:
        ledger.ingest(home, inbox.waiting(home))
    else:
        for batch in inbox.chunks(inbox.waiting(home), batch_files, 10**9):
            ledger.load_plainly(home, batch)
    ledger.complete(home)


def _child(request: dict[str, Any], engine: str, report: int) -> None:
    if request["file_bytes"] is not None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (request["file_bytes"], resource.RLIM_INFINITY))
    operations = Operations(request["kill_at"])
    operations.hook()
    error = ""
    try:
        load_all(Path(request["root"]), engine)
    except Exception as raised:  # noqa: BLE001  told to the test, which judges it
        error = f"{type(raised).__name__}: {raised}"
    how = "failed" if error else "done"
    os.write(report, json.dumps(asdict(Ended(how, operations.count, error))).encode())


def _begin(request: dict[str, Any], engine: str) -> tuple[int, int]:
    """Fork a child that loads; its number, and where it reports."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            _child(request, engine, writing)
        finally:
            os._exit(0)  # the child must not return to the parent's loop
    os.close(writing)
    return child, reading


def _end(request: dict[str, Any], child: int, reading: int) -> Ended:
    if request["kill_after_s"] is not None:
        time.sleep(request["kill_after_s"])
        os.kill(child, signal.SIGKILL)  # not yet waited for, so the number is still the child's
    os.waitpid(child, 0)
    with os.fdopen(reading) as told:
        words = told.read()
    return Ended(**json.loads(words)) if words else Ended("killed")


def main() -> None:
    """Import everything, then fork a child for each request on standard input."""
    engine = sys.argv[1]
    if engine:
        from rangeledger.pipelines.running.engine import QUIET

        os.environ.update(QUIET)
        os.environ["PREFECT_API_URL"] = engine
        os.environ["PREFECT_HOME"] = os.environ.get("PREFECT_HOME", "/tmp")
        import rangeledger.pipelines.running.flow
    import rangeledger.models.clubs.carry_model  # noqa: F401
    from rangeledger.pipelines.loading import before_forking, load, validation  # noqa: F401
    from rangeledger.pipelines.running import fitting, ledger  # noqa: F401

    validation.warm_up()

    for line in sys.stdin:
        requests = json.loads(line)
        begun = [(one, *_begin(one, engine)) for one in requests]
        print(json.dumps([asdict(_end(*one)) for one in begun]), flush=True)


if __name__ == "__main__":
    main()
