"""Homes that live: loads, readings again, renamings and removals, killed at every step.

    PYTHONPATH=.src:. python -m tests.pipelines.lives 200

kills that many times in a growing backlog and compares with a home that nothing disturbed.
"""

from __future__ import annotations

import random
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox, load
from rangeledger.pipelines.running import deciding, forgetting, ledger, reloading
from rangeledger.pipelines.running.reloading import ReloadRequest
from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons
from tests.pipelines.killing import Operations, contents, different

Act = Callable[[Home], None]


class Killed(BaseException):
    """Stands for the end of the process."""


class ReadHere:
    """Reads in this process, in place of `Readers`, so that a kill reaches the reading too."""

    def __init__(self, home: Home, *, cluster: object) -> None:
        self._home = home

    def __enter__(self) -> ReadHere:
        return self

    def __exit__(self, *_: object) -> None: ...
    def expect(self, *_: object) -> None: ...
    def read(self, *words: object) -> object:
        return load.read_one(self._home, *words)  # type: ignore[arg-type]


def _drop(turn: int) -> Callable[[Home], None]:
    def drop(home: Home) -> None:
        for player in ("Ada Brook", f"Player {turn % 3}", f"P. {turn % 2}"):
            day = f"2026-{1 + turn // 28 % 12:02d}-{1 + turn % 28:02d}"
            text = seven_irons(player, day, f"{6 + turn % 3} iron") + "\n" * (turn % 2)
            (home.inbox / f"{turn:03d}-{player.replace(' ', '')}.csv").write_text(text)

    return drop


def _load(home: Home) -> None:
    for batch in inbox.chunks(inbox.waiting(home), 2, 10**9):
        ledger.load_plainly(home, batch)
    ledger.complete(home)


def _zone(name: str) -> Act:
    return lambda home: (home.settings_file.write_text(f'zone = "{name}"\n'), None)[1]


def _reload(home: Home) -> None:
    reloading.reload(home, ReloadRequest())


def _rename(player: str, to: str | None) -> Act:
    def rename(home: Home) -> None:
        try:
            deciding.rename(home, player, to)
        except UsageError:  # done before the kill
            ledger.complete(home)

    return rename


def _forget(player: str) -> Act:
    def forget(home: Home) -> None:
        try:
            forgetting.forget(home, forgetting.weigh_player(home, player))
        except UsageError:
            ledger.complete(home)

    return forget


def acts() -> Iterator[tuple[Act | None, Act]]:
    """What is prepared undisturbed, and what is done and killed on the way, for ever."""
    turn = 0
    while True:
        yield _drop(turn), _load
        yield _zone(("UTC", "Europe/Stockholm", "America/Denver")[turn % 3]), _reload
        yield None, _rename(f"P. {turn % 2}", f"Player {turn % 3}")
        if turn % 3 == 2:
            yield None, _forget("Ada Brook")
        turn += 1


def live(folder: Path, kills: int, seed: int = 20260502) -> list[str]:
    """Kill a home so many times; names of what it does not share with an undisturbed one."""
    chance = random.Random(seed)
    calm, home = (open_home(Home(folder / name)) for name in ("calm", "killed"))
    killed = 0
    found: list[str] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reloading, "Readers", ReadHere)
        for prepare, act in acts():
            for each in (calm, home):
                if prepare is not None:
                    prepare(each)
            act(calm)
            done = False
            for _ in range(chance.randrange(1, 4)):
                if _killed_on_the_way(act, home, chance.randrange(1, 50)):
                    killed += 1
                else:
                    done = True
                    break
            if not done:
                act(home)
            found += different(contents(calm.root), contents(home.root))
            if killed >= kills or found:
                return found
    return found


def _killed_on_the_way(act: Act, home: Home, at: int) -> bool:
    def happens() -> None:
        raise Killed

    with pytest.MonkeyPatch.context() as patch:
        Operations(at, happens).hook(patch.setattr)
        try:
            act(home)
        except Killed:
            return True
    return False


def main() -> None:
    """Live through as many kills as the command line says."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as folder:
        found = live(Path(folder), kills)
    print(f"{kills} kills: {len(found)} views differ {found}")
    sys.exit(bool(found))


if __name__ == "__main__":
    main()
