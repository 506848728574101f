"""Two homes that load the same exports into one store in opposite order, and are killed on the way.

    python -m tests.pipelines.rival_loaders EXPORTS KILLS

makes its own PostgreSQL and object store, and prints what is wrong; nothing, if all is well.
"""

from __future__ import annotations

import random
import sys
import tempfile
from datetime import date, timedelta
from pathlib import Path

from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.pipelines.killing import Killer
from tests.services.object_store import running_object_store
from tests.services.postgres import running_postgres
from tests.services.shared_place import SharedPlace, lake_of

_PLAYERS = ("Ada Brook", "Zoe Marsh", "Ines Dahl")
SHOTS_EACH = 6


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


def rival(
    killer: Killer, homes: list[Home], kills: int, longest_s: float = 0.0, seed: int = 1
) -> int:
    """Let homes load at the same time until nothing waits; how often one was killed on the way.

    In each turn all begin anew, and one of them is killed before an operation by chance, or, where
    a longest time [s] is given, half of the times after a time by chance, whatever it does then.
    """
    chance, killed = random.Random(seed), 0
    while True:
        fate: dict[str, float] = {}
        if killed < kills and chance.random() < 0.5 and longest_s:
            fate = {"kill_after_s": chance.uniform(0.02, 1.0) * longest_s}
        elif killed < kills:
            fate = {"kill_at": chance.randrange(1, 30)}
        victim = chance.choice(homes)
        loads = [(home.root, fate if home is victim else {}) for home in homes]
        ended = [one.how for one in killer.load_at_once(loads)]
        assert set(ended) <= {"done", "killed"}, ended
        killed += ended.count("killed")
        if set(ended) == {"done"}:
            return killed


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
                with Killer() as killer:
                    rival(killer, homes, kills, longest_s=20.0)
                return wrong_with(homes[0], files)


if __name__ == "__main__":
    print("\n".join(_long(int(sys.argv[1]), int(sys.argv[2]))) or "all is well")
