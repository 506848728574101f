"""Two homes that load the same exports into one store in opposite order, and are killed on the way.

    python -m tests.pipelines.rival_loaders EXPORTS KILLS

makes its own PostgreSQL and object store, and prints what is wrong; nothing, if all is well.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.services.object_store import running_object_store
from tests.services.postgres import running_postgres
from tests.services.shared_place import SharedPlace, lake_of

_PLAYERS = ("Ada Brook", "Zoe Marsh", "Ines Dahl")
SHOTS_EACH = 6
_FILES_AT_ONCE = 3


def exports(count: int) -> dict[str, str]:
    """Exports of different days and players, by name."""
    first = date(2024, 1, 1)
    days = [(first + timedelta(days=n)).isoformat() for n in range(count)]
    return {f"{n:03d}.csv": seven_irons(_PLAYERS[n % len(_PLAYERS)], day)
            for n, day in enumerate(days)}  # fmt: skip


def fill(home: Home, files: dict[str, str], *, backwards: bool) -> None:
    """Put exports into the inbox, under names by which they are taken in that order."""
    names = sorted(files, reverse=backwards)
    for place, name in enumerate(names):
        (home.inbox / f"{place:03d}-{name}").write_text(files[name])


def start(home: Home) -> subprocess.Popen[bytes]:
    """A process that loads what waits in a home."""
    return subprocess.Popen([sys.executable, "-m", "tests.pipelines.rival_loaders", str(home.root)])


def rival(homes: list[Home], kills: int, longest_s: float, seed: int = 1) -> None:
    """Let homes load at the same time until nothing waits; kill one of them now and then."""
    chance = random.Random(seed)
    running = {home.root: start(home) for home in homes}
    while any(process.poll() != 0 for process in running.values()):
        if kills:
            time.sleep(chance.uniform(0.2, 1.0) * longest_s)
            victim = chance.choice(homes)
            running[victim.root].send_signal(signal.SIGKILL)
            kills -= 1
        for home in homes:
            if running[home.root].wait() != 0:
                running[home.root] = start(home)


def wrong_with(home: Home, files: dict[str, str]) -> list[str]:
    """What is not as it should be in the store, when all is loaded."""
    lake = lake_of(home)
    try:
        counted = lake.execute("SELECT count(*), count(DISTINCT shot_id) FROM shots").fetchall()
        loaded = lake.execute(
            "SELECT source_file FROM ingest_log WHERE starts_with(state, 'loaded')"
        ).fetchall()
    finally:
        lake.close()
    found, (shots, distinct) = [], counted[0]
    if len(loaded) != len(files) or len(set(loaded)) != len(files):
        found.append(f"{len(loaded)} loads of {len(set(loaded))} exports instead of {len(files)}")
    if not shots == distinct == SHOTS_EACH * len(files):
        found.append(f"{shots} shots, {distinct} different, of {SHOTS_EACH * len(files)}")
    return found


def _load(root: Path) -> None:
    from rangeledger.pipelines.loading import inbox
    from rangeledger.pipelines.running import ledger

    home = Home(root)
    for batch in inbox.chunks(inbox.waiting(home), _FILES_AT_ONCE, 10**9):
        ledger.load_plainly(home, batch)
    ledger.complete(home)


def _long(count: int, kills: int) -> list[str]:
    with tempfile.TemporaryDirectory() as folder, running_postgres() as postgres:
        place_of_objects = Path(folder, "objects")
        place_of_objects.mkdir()
        with running_object_store(place_of_objects) as objects:
            place = SharedPlace(postgres, objects)
            with place.closing:
                user = place.academy()
                homes = [place.home(Path(folder, name), user) for name in ("north", "south")]
                files = exports(count)
                for home in homes:
                    fill(home, files, backwards=home is homes[1])
                rival(homes, kills, longest_s=20.0)
                return wrong_with(homes[0], files)


if __name__ == "__main__":
    if len(sys.argv) == 2:
        _load(Path(sys.argv[1]))
    else:
        print("\n".join(_long(int(sys.argv[1]), int(sys.argv[2]))) or "all is well")
