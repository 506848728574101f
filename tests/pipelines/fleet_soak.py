"""A whole fleet under fire: loaders, Dask workers, catalog and bucket, each ended at random.

    python -m tests.pipelines.fleet_soak [--exports N] [--blows N] [--seed N] [--quick]

Two homes load the same exports into one store in opposite order, read by workers. A blow kills a
loader or a worker without warning, or restarts the catalog or the bucket. Readers ask meanwhile, in
three ways. Prints what is wrong, and ends with 1; `all is well` otherwise.
"""

from __future__ import annotations

import argparse
import functools
import random
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

import duckdb
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.stores.shared_store import PUBLISHED, SharedStore
from rangeledger.warehouse.stores.steward import steward_of
from rangeledger.warehouse.stores.store import store_of

from tests.pipelines.rival_loaders import SHOTS_EACH, exports, fill, wrong_with
from tests.services.dask_cluster import running_cluster
from tests.services.object_store import running_object_store
from tests.services.postgres import running_postgres
from tests.services.service import Service
from tests.services.shared_place import SharedPlace, lake_of

_BATCH = 5
_PAUSE_S = 1.0


class Loaders:
    """The loaders of all homes, started again whenever one ends too early."""

    def __init__(self, homes: list[Home]) -> None:
        self._running = {home: self._start(home) for home in homes}

    def busy(self) -> bool:
        """Whether one has not come to its end; starts again those that were killed."""
        for home, process in self._running.items():
            if process.poll() not in (None, 0):
                self._running[home] = self._start(home)
        return any(process.poll() != 0 for process in self._running.values())

    def kill(self, chance: random.Random) -> None:
        """End one of them without a warning."""
        chance.choice(list(self._running.values())).kill()

    def _start(self, home: Home) -> subprocess.Popen[bytes]:
        return subprocess.Popen([sys.executable, "-m", __spec__.name, "--load", str(home.root)])


class Reader(threading.Thread):
    """Asks again and again while others load; shots may become more, never fewer or torn."""

    def __init__(self, ask: Callable[[], int], over: threading.Event) -> None:
        super().__init__(daemon=True)
        self._ask, self._over = ask, over
        self.answers: list[int] = []

    def run(self) -> None:
        """Ask until all is over; while a server is down there is no answer."""
        while not self._over.wait(_PAUSE_S):
            try:
                self.answers.append(self._ask())
            except Exception as error:  # noqa: BLE001
                if not _is_of_a_server(error):
                    self.answers.append(-1)
                    print(f"a reader met {error!r}", file=sys.stderr)

    def wrong(self) -> list[str]:
        """Answers that are no whole number of exports, or fewer than before."""
        torn = [n for n in self.answers if n % SHOTS_EACH]
        back = [pair for pair in zip(self.answers, self.answers[1:], strict=False)
                if pair[1] < pair[0]]  # fmt: skip
        return [f"torn: {torn}"] * bool(torn) + [f"backwards: {back}"] * bool(back)


def _is_of_a_server(error: Exception) -> bool:
    words = ("onnect", "terminating", "HTTP", "server", "EOF", "read-only database")
    return any(word in f"{type(error).__name__} {error}" for word in words)


def _ask_lake(home: Home) -> int:
    with lake_of(home) as lake:
        return int(lake.execute("SELECT count(*) FROM shots").fetchall()[0][0])


def _ask_bucket(home: Home) -> int:
    store = store_of(home)
    assert isinstance(store, SharedStore)
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder, "fetched.duckdb")
        store.bucket.fetch(PUBLISHED, copy)
        with duckdb.connect(str(copy), read_only=True) as connection:
            return int(connection.execute("SELECT count(*) FROM shots").fetchall()[0][0])


def _ask_published(home: Home) -> int:
    return int(query(home, "SELECT count(*) FROM shots").item())


def soak(folder: Path, count: int, blows: int, seed: int) -> list[str]:
    """Load under blows; what is wrong in the end."""
    chance = random.Random(seed)
    for name in ("objects", "dask"):
        (folder / name).mkdir()
    with (
        running_postgres() as postgres,
        running_object_store(folder / "objects") as objects,
        running_cluster(folder / "dask") as dask,
    ):
        place = SharedPlace(postgres, objects)
        with place.closing:
            user = place.academy()
            homes = [place.home(folder / name, user) for name in ("north", "south")]
            files = exports(count)
            for home in homes:
                with home.settings_file.open("a") as settings:
                    settings.write(f'\n[spread]\nscheduler = "{dask.address}"\n')
                fill(home, dict(list(files.items())[:1]), backwards=False)
                _load(home)  # so that there is something to ask from the start
                fill(home, files, backwards=home is homes[1])
            return _under_blows(
                homes, files, (postgres.service, objects.service), dask.workers, blows, chance
            )


def _under_blows(
    homes: list[Home],
    files: dict[str, str],
    servers: tuple[Service, ...],
    workers: tuple[Service, ...],
    blows: int,
    chance: random.Random,
) -> list[str]:
    over = threading.Event()
    ways = ((_ask_lake, 0), (_ask_bucket, 1), (_ask_published, 0), (_ask_published, 1))
    readers = [Reader(functools.partial(ask, homes[which]), over) for ask, which in ways]
    loaders = Loaders(homes)
    for reader in readers:
        reader.start()
    while loaders.busy():
        time.sleep(chance.uniform(1.0, 6.0))
        if blows > 0:
            blows -= 1
            struck = chance.choice(("loader", "loader", "worker", "server"))
            if struck == "loader":
                loaders.kill(chance)
            elif struck == "worker":
                worker = chance.choice(workers)
                worker.kill()
                worker.start()
            else:
                chance.choice(servers).restart()
    over.set()
    for reader in readers:
        reader.join()
    wrong = [sentence for reader in readers for sentence in reader.wrong()]
    for home in homes:
        _load(home)  # brings what the other one loaded last
        wrong += wrong_with(home, files)
    said = {f"{ask.__name__} {homes[which].root.name}": ask(homes[which]) for ask, which in ways}
    if set(said.values()) != {SHOTS_EACH * len(files)}:
        wrong.append(f"of {SHOTS_EACH * len(files)} shots: {said}")
    print(f"{sum(len(reader.answers) for reader in readers)} answers of {len(readers)} readers")
    return wrong + _orphans(homes[0])


def _orphans(home: Home) -> list[str]:
    """Files that a tidying leaves though nothing needs them."""
    with steward_of(home) as steward:
        steward.tidy(0.0)
        left = steward.tidy(0.0).files_removed
    return [f"{left} files were left after a tidying"] if left else []


def _load(home: Home) -> None:
    """Load all that waits in a home, through whatever becomes of the servers."""
    from rangeledger.pipelines.loading import inbox
    from rangeledger.pipelines.loading.readers import Readers
    from rangeledger.pipelines.running import ledger
    from rangeledger.pipelines.spreading.cluster import cluster_of
    from rangeledger.schemas.errors import RangeledgerError
    from rangeledger.warehouse.settings import read_settings

    settings = read_settings(home)
    with Readers(home, cluster=cluster_of(settings.spread)) as readers:
        while True:
            try:
                for batch in inbox.chunks(inbox.waiting(home), _BATCH, 10**9):
                    readers.expect(settings.reading, batch)
                    ledger.load_plainly(home, batch, readers)
                ledger.complete(home)
            except RangeledgerError as error:
                if not error.retryable:
                    raise
                time.sleep(_PAUSE_S)
            else:
                return


def main() -> int:
    """Soak, and say what is wrong."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--exports", type=int, default=600)
    parser.add_argument("--blows", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--load", type=Path)
    said = parser.parse_args()
    if said.load is not None:
        _load(Home(said.load))
        return 0
    count, blows = (15, 4) if said.quick else (said.exports, said.blows)
    with tempfile.TemporaryDirectory() as folder:
        wrong = soak(Path(folder), count, blows, said.seed)
    print("\n".join(wrong) or "all is well")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
