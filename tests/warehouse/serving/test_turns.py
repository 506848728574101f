"""Whose turn it is among those who wait, and whose statement makes room.

What is expected are the promises that the rules make (common practice, no source): max-min fairness
between tokens, and short statements before long ones.
"""

from __future__ import annotations

import asyncio
from collections import Counter

import pytest
from rangeledger.warehouse.serving import turns
from rangeledger.warehouse.serving.turns import Waiting
from rangeledger.warehouse.serving.workers import Holder, Worker

NOW = 1000.0


def running(token: str, used_s: float, *, since_s: float = 1.0) -> Worker:
    """A worker at a statement of a token."""
    holder = Holder(token, None)
    worker = Worker(1, None, 1, "secret", holder=holder, pending=1, busy_since=NOW - since_s)
    worker.used_s, holder.worker = used_s, worker
    return worker


def waiting(token: str, *, since_s: float = 0.0, quick: bool = False, ended: int = 0) -> Waiting:
    """One who waits; nobody is told of its turn."""
    loop = asyncio.new_event_loop()
    turn: asyncio.Future[Worker] = loop.create_future()
    loop.close()
    return Waiting(Holder(token, None, ended=ended, quick=9 * quick), NOW - since_s, turn)


def test_who_uses_fewest_comes_first_whenever_it_came() -> None:
    crowd, again = waiting("crowd", since_s=9.0), waiting("crowd", since_s=8.0, ended=2)
    quick, newcomer = waiting("crowd", since_s=1.0, quick=True), waiting("newcomer")
    order = turns.in_order([crowd, again, quick, newcomer], Counter({"crowd": 6}))
    assert order == [newcomer, quick, crowd, again]


def test_the_last_place_is_kept_for_tokens_that_run_nothing() -> None:
    """With six at a time and two beyond, seven of one token are all that may run."""
    slow, quick, newcomer = (
        waiting("crowd").holder, waiting("crowd", quick=True).holder, waiting("newcomer").holder,
    )  # fmt: skip
    may = {
        taken: [
            turns.may_begin(one, Counter({"crowd": taken}), 6) for one in (slow, quick, newcomer)
        ]
        for taken in (5, 6, 7, 8)
    }
    assert may == {
        5: [True, True, True], 6: [False, True, True],
        7: [False, False, True], 8: [False, False, False],
    }  # fmt: skip


@pytest.mark.parametrize("token", ["honest", "crowd"])
def test_a_statement_that_has_used_little_is_never_ended_however_long_it_took(token: str) -> None:
    """On a crowded machine a short one lasts long: a hundredth of a processor for a minute."""
    short = running(token, used_s=0.24, since_s=60.0)
    newcomer = waiting("newcomer").holder
    assert turns.makes_room(newcomer, [short], NOW, 1.0) is None
    long = running("crowd", used_s=1.01)
    assert turns.makes_room(newcomer, [short, long], NOW, 1.0) is long


def test_one_that_gets_little_of_a_processor_makes_room_by_the_clock() -> None:
    starved = running("crowd", used_s=0.3, since_s=1.9)
    newcomer = waiting("newcomer").holder
    assert turns.makes_room(newcomer, [starved], NOW, 1.0) is None
    assert turns.makes_room(newcomer, [starved], NOW + 0.2, 1.0) is starved


def test_the_token_that_runs_most_makes_room_and_for_itself_only_its_own() -> None:
    analyst = running("analyst", used_s=20.0)
    crowd = [running("crowd", used_s=float(n)) for n in range(1, 6)]
    everybody = [analyst, *crowd]
    for holder in (waiting("newcomer").holder, waiting("crowd").holder):
        assert turns.makes_room(holder, everybody, NOW, 1.0) is crowd[-1]
    assert turns.makes_room(waiting("crowd").holder, [analyst, crowd[0]], NOW, 2.0) is None


def test_a_result_left_unread_makes_room_before_a_statement_that_computes() -> None:
    computing, reading = running("crowd", used_s=9.0), running("crowd", used_s=0.0)
    reading.pending, reading.has_more = 0, True
    newcomer = waiting("newcomer").holder
    reading.last_used = NOW - turns.UNREAD_S + 0.1
    assert turns.makes_room(newcomer, [computing, reading], NOW, 1.0) is computing
    assert turns.makes_room(newcomer, [computing, reading], NOW + 0.2, 1.0) is reading


def test_who_is_quick_or_new_waits_for_no_long_statement_and_others_for_a_moment() -> None:
    crowd = Counter({"crowd": 6})
    assert turns.is_owed_room(waiting("newcomer"), crowd, NOW, 1.0)
    assert turns.is_owed_room(waiting("crowd", quick=True), crowd, NOW, 1.0)
    assert not turns.is_owed_room(waiting("crowd", since_s=0.4), crowd, NOW, 1.0)
    assert turns.is_owed_room(waiting("crowd", since_s=0.6), crowd, NOW, 1.0)


def test_nobody_is_quick_by_what_a_client_asks_when_it_attaches() -> None:
    """Three statements, as the client of the database's protocol sends them (regression)."""
    assert [Holder("crowd", None, quick=n).is_quick for n in range(5)] == [False] * 4 + [True]
