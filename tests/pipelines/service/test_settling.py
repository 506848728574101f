from __future__ import annotations

import os
from pathlib import Path

import pytest
from rangeledger.pipelines.loading.growing_files import PATIENT_S
from rangeledger.pipelines.loading.offered import Offered
from rangeledger.pipelines.service.arrivals import Arrival
from rangeledger.pipelines.service.settling import Settling
from rangeledger.warehouse.home import Home


class Clock:
    """Both clocks of a test; the wall clock can jump."""

    def __init__(self) -> None:
        self.now = 1000.0
        self.jump = 0.0

    def monotonic(self) -> float:
        return self.now

    def wall(self) -> float:
        return _NOW + self.now - 1000.0 + self.jump


def taken(rest: Settling, one: Offered) -> bool:
    """Whether an export is taken, as it is or as a copy that may be a part."""
    settled = rest.ready([one])
    return one in settled.complete or one in settled.maybe_growing


_NOW = 1_800_000_000.0


@pytest.fixture
def clock() -> Clock:
    return Clock()


def write(path: Path, text: str, clock: Clock) -> Offered:
    path.write_text(text)
    os.utime(path, (clock.wall(), clock.wall()))
    return Offered(path, path.name)


def settling(clock: Clock, settle_s: float = 2.0, how: Arrival | None = None) -> Settling:
    # The change time of a file can't be set, so the tests' wall clock lies far before it.
    clock.jump = -_NOW / 2
    return Settling(settle_s, lambda _: how, clock.monotonic, clock.wall)


def test_a_growing_file_is_not_ready_until_it_has_rested(home: Home, clock: Clock) -> None:
    rest = settling(clock)
    path = home.inbox / "s.csv"
    for length in range(1, 6):
        one = write(path, "x\n" * length, clock)
        assert not taken(rest, one)
        clock.now += 1.5
    assert not taken(rest, one)
    clock.now += 1.4
    assert not taken(rest, one)
    clock.now += 0.2  # twice the longest pause
    assert taken(rest, one)


def test_a_file_kept_open_is_not_ready_however_long_it_rests(home: Home, clock: Clock) -> None:
    rest = settling(clock)
    one = write(home.inbox / "s.csv", "x\n", clock)
    with one.path.open("a"):
        for _ in range(3):
            assert not taken(rest, one)
            clock.now += 100.0
        assert rest.restless(60.0) == [one.path]
    assert taken(rest, one)


def test_a_note_that_follows_its_export_starts_the_wait_anew(home: Home, clock: Clock) -> None:
    rest = settling(clock)
    one = write(home.inbox / "s.csv", "x\n", clock)
    rest.ready([one])
    clock.now += 1.9
    write(home.inbox / "s.toml", 'player = "Ada"', clock)
    assert not taken(rest, one)
    clock.now += 1.9
    assert not taken(rest, one)
    clock.now += 0.2
    assert taken(rest, one)


def test_what_has_lain_there_is_ready_at_first_sight(home: Home, clock: Clock) -> None:
    one = write(home.inbox / "s.csv", "x\n", clock)
    rest = Settling(2.0, lambda _: None, clock.monotonic, lambda: one.path.stat().st_ctime + 3600.0)
    os.utime(one.path, (0.0, 0.0))
    assert taken(rest, one)


@pytest.mark.parametrize("jump", [-1e6, 1e6])
def test_a_clock_that_jumps_neither_hastens_nor_holds(
    home: Home, clock: Clock, jump: float
) -> None:
    rest = settling(clock)
    one = write(home.inbox / "s.csv", "x\n", clock)
    assert not taken(rest, one)
    clock.jump += jump
    clock.now += 1.0
    assert not taken(rest, one)
    clock.now += 1.1
    assert taken(rest, one)


def test_it_says_when_to_look_again_and_forgets_what_is_gone(home: Home, clock: Clock) -> None:
    rest = settling(clock)
    one = write(home.inbox / "s.csv", "x\n", clock)
    rest.ready([one])
    clock.now += 0.5
    rest.ready([one])
    assert rest.recheck_s == pytest.approx(1.5)
    rest.ready([])
    assert rest.recheck_s is None
    clock.now += 5.0
    assert not taken(rest, one)  # seen anew


def test_a_postponed_export_waits_that_long(home: Home, clock: Clock) -> None:
    rest = settling(clock)
    one = write(home.inbox / "s.csv", "x\n", clock)
    rest.ready([one])
    rest.postpone(one.path, 5.0)
    clock.now += 4.0
    assert not taken(rest, one)
    clock.now += 1.5
    assert taken(rest, one)


def test_what_is_renamed_into_the_inbox_is_whole_as_soon_as_it_has_settled(
    home: Home, clock: Clock
) -> None:
    rest = settling(clock, 0.1, Arrival.COMPLETE)
    one = write(home.inbox / "s.csv", "no end", clock)
    assert not taken(rest, one)
    clock.now += 0.11
    assert rest.ready([one]).complete == [one]


@pytest.mark.parametrize("text", ["a,b\n1,2", "a,b\r\n1,2,3", "a"])
def test_a_last_line_without_its_end_waits_for_the_rest(
    home: Home, clock: Clock, text: str
) -> None:
    rest = settling(clock, 0.1, Arrival.CLOSED)
    one = write(home.inbox / "s.csv", text, clock)
    rest.ready([one])
    clock.now += PATIENT_S - 0.1
    assert not taken(rest, one)
    clock.now += 0.2
    assert rest.ready([one]).complete == [one]


def test_what_is_closed_with_all_its_ends_is_tried_once_and_whole_when_it_has_rested(
    home: Home, clock: Clock
) -> None:
    rest = settling(clock, 0.1, Arrival.CLOSED)
    one = write(home.inbox / "s.csv", "a,b\n", clock)
    rest.ready([one])
    clock.now += 0.2
    assert rest.ready([one]).maybe_growing == [one]
    rest.tried(one.path)
    clock.now += 1.0
    assert not taken(rest, one)
    one = write(home.inbox / "s.csv", "a,b\n1,2\n", clock)
    assert not taken(rest, one)
    clock.now += 2.5  # twice the pause before it grew
    assert rest.ready([one]).maybe_growing == [one]
    clock.now += PATIENT_S
    assert rest.ready([one]).complete == [one]


def test_what_the_system_tells_is_being_written_waits(home: Home, clock: Clock) -> None:
    rest = settling(clock, 0.1, Arrival.WRITTEN)
    one = write(home.inbox / "s.csv", "a,b\n", clock)
    rest.ready([one])
    clock.now += PATIENT_S - 0.1
    assert not taken(rest, one)
