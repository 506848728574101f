"""Killed anywhere, refused anything, twice at once: each export as if loaded once."""

from __future__ import annotations

import errno
import itertools
import os
import random
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from rangeledger.schemas.errors import RangeledgerError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons
from tests.pipelines.backlog import put_backlog, put_many
from tests.pipelines.killing import Killer, Operations, contents, different, load_all
from tests.pipelines.remembering import remember_reading_and_fits


class Killed(BaseException):
    """Stands for the end of the process."""


@pytest.fixture(autouse=True)
def _read_and_fit_once(monkeypatch: pytest.MonkeyPatch) -> None:
    remember_reading_and_fits(monkeypatch)


# A twelfth of the gaps are tried here, the others where long tests are asked for.
PARTS = [0, *(pytest.param(part, marks=pytest.mark.long) for part in range(1, 12))]
# Loads repeat the same steps for each batch and export. The suite tries each step, reached by the
# same calls, where it is done first (and, killed, last); this variable has all be tried.
EVERY = bool(os.environ.get("RANGELEDGER_TESTS_EVERY_GAP"))


@pytest.fixture
def another_process(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Gives this process a new number, as the one that takes over after a kill has."""
    numbers = itertools.count(100_000)

    def begin() -> None:
        number = next(numbers)
        monkeypatch.setattr(os, "getpid", lambda: number)

    return begin


@pytest.fixture
def fresh(tmp_path: Path) -> Callable[[str], Home]:
    """Makes homes with an earlier load and a backlog."""
    before = open_home(Home(tmp_path / "before"))
    (before.inbox / "first.csv").write_text(seven_irons("Ada Brook", "2026-04-04"))
    load_all(before.root)
    put_backlog(before)

    def made(name: str) -> Home:
        return Home(shutil.copytree(before.root, tmp_path / name))

    return made


def undisturbed(fresh: Callable[[str], Home]) -> tuple[list[Any], dict[str, Any]]:
    """By which calls each operation is reached, and what a home then holds."""
    load_all(fresh("warm").root)  # the first load of a process reads and compiles
    home = fresh("undisturbed")
    with pytest.MonkeyPatch.context() as patch:
        operations = Operations(None)
        operations.hook(patch.setattr)
        load_all(home.root)
    return operations.places, contents(home.root)


def gaps(places: list[Any], *, last: bool) -> list[int]:
    """Numbers, from 1, of the operations to stop at: the first by each way, and the last too."""
    if EVERY:
        return list(range(1, len(places) + 1))
    numbered = list(enumerate(places, 1))
    first = {place: number for number, place in reversed(numbered)}
    final = {place: number for number, place in numbered} if last else {}
    return sorted({*first.values(), *final.values()})


def stopped_at(home: Home, at: int, what: BaseException) -> BaseException | None:
    def happens() -> None:
        raise what

    with pytest.MonkeyPatch.context() as patch:
        Operations(at, happens).hook(patch.setattr)
        try:
            load_all(home.root)
        except (Killed, RangeledgerError, OSError) as raised:
            return raised
    return None


@pytest.mark.slow
@pytest.mark.parametrize("part", PARTS)
def test_ended_in_any_gap_between_two_steps_all_is_as_if_loaded_once(
    part: int, fresh: Callable[[str], Home], another_process: Callable[[], None]
) -> None:
    places, expected = undisturbed(fresh)
    assert len(set(places)) > 30
    assert expected["inbox"] == {}
    wrong = {}
    for at in gaps(places, last=True)[part :: len(PARTS)]:
        home = fresh(f"ended-{at}")
        assert isinstance(stopped_at(home, at, Killed()), Killed)
        another_process()
        load_all(home.root)
        if found := different(expected, contents(home.root)):
            wrong[at] = found
    assert wrong == {}


@pytest.mark.slow
@pytest.mark.parametrize("part", PARTS)
def test_a_disk_that_refuses_any_step_is_told_and_nothing_is_lost(
    part: int, fresh: Callable[[str], Home]
) -> None:
    places, expected = undisturbed(fresh)
    wrong: dict[int, object] = {}
    for turn, at in enumerate(gaps(places, last=False)[part :: len(PARTS)]):
        home = fresh(f"refused-{at}")
        number = errno.EROFS if turn % 2 else errno.ENOSPC
        raised = stopped_at(home, at, OSError(number, errno.errorcode[number]))
        if raised is not None and not (isinstance(raised, RangeledgerError) and raised.retryable):
            wrong[at] = repr(raised)
        load_all(home.root)
        if found := different(expected, contents(home.root)):
            wrong[at] = found
    assert wrong == {}


@pytest.fixture(scope="module")
def killer() -> Iterator[Killer]:
    with Killer() as processes:
        yield processes


@pytest.fixture(scope="module")
def loaded_many(
    killer: Killer, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[int], dict[str, Any]]:
    """What a home holds that loaded so many exports undisturbed."""

    @cache
    def loaded(exports: int) -> dict[str, Any]:
        home = open_home(Home(tmp_path_factory.mktemp("undisturbed") / "home"))
        put_many(home, exports)
        assert killer.load(home.root).how == "done"
        return contents(home.root)

    return loaded


@pytest.mark.slow
@pytest.mark.parametrize(
    ("exports", "kills"), [(9, 4), pytest.param(40, 24, marks=pytest.mark.long)]
)
def test_a_process_killed_again_and_again_loads_each_export_once(
    tmp_path: Path, killer: Killer, loaded_many: Callable[[int], dict[str, Any]],
    exports: int, kills: int,
) -> None:  # fmt: skip
    home = open_home(Home(tmp_path / "killed"))
    put_many(home, exports)
    chance = random.Random(20260502)
    killed = 0
    while killed < kills:
        fate = (
            {"kill_at": chance.randrange(1, 60)}
            if chance.random() < 0.6
            else {"kill_after_s": chance.uniform(0.05, 1.5)}
        )
        if killer.load(home.root, **fate).how == "done":
            break
        killed += 1
    assert killer.load(home.root).how == "done"
    assert killed >= kills // 2
    assert different(loaded_many(exports), contents(home.root)) == []


@pytest.mark.slow
def test_a_disk_that_can_hold_no_larger_file_costs_nothing_but_time(
    tmp_path: Path, killer: Killer
) -> None:
    expected_home = open_home(Home(tmp_path / "undisturbed"))
    home = open_home(Home(tmp_path / "small"))
    for each in (expected_home, home):
        put_backlog(each)
    assert killer.load(expected_home.root).how == "done"
    for file_bytes in (100, 3_000, 20_000):
        ended = killer.load(home.root, file_bytes=file_bytes)
        assert ended.how == "failed"
        assert ended.error.startswith("StorageError"), ended.error
    assert killer.load(home.root).how == "done"
    assert different(contents(expected_home.root), contents(home.root)) == []


@pytest.mark.slow
def test_two_processes_on_one_inbox_share_the_work(
    tmp_path: Path, killer: Killer, loaded_many: Callable[[int], dict[str, Any]]
) -> None:
    home = open_home(Home(tmp_path / "shared"))
    put_many(home, 9)
    ended = killer.load_at_once([(home.root, {})] * 2)
    assert [one.how for one in ended] == ["done", "done"]
    assert different(loaded_many(9), contents(home.root)) == []
