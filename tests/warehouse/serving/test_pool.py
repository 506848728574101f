"""Workers given to connections, with a nursery that starts and ends none: what is ordered counts.

What is expected are the promises of the pool (common practice, no source).
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.serving import turns
from rangeledger.warehouse.serving.limits import Limits
from rangeledger.warehouse.serving.nursing import Hear
from rangeledger.warehouse.serving.pool import SPARE, Pool
from rangeledger.warehouse.serving.workers import Holder, Worker

NO_PROCESS = -1
LIMITS = Limits(statements=3)
PLACES = LIMITS.statements + turns.RESERVE


class GivenNursery:
    """Starts what is ordered at once, or when it is told to; ends nothing by itself."""

    has_ended = False

    def __init__(self) -> None:
        self.hear: Hear = lambda _: None
        self.is_slow = False
        self.late: list[int] = []
        self.ended: list[int] = []

    async def open(self, hear: Hear) -> None:
        self.hear = hear

    def order(self, **order: Any) -> None:
        if "end" in order:
            self.ended.append(order["end"])
        elif self.is_slow:
            self.late.append(order["start"])
        else:
            asyncio.get_running_loop().call_soon(self.make_ready, order["start"])

    def make_ready(self, number: int) -> None:
        self.hear({"ready": number, "port": 1, "pid": NO_PROCESS})


def with_pool(home: Home, test: Callable[[Pool, GivenNursery], Coroutine[Any, Any, None]]) -> None:
    async def within() -> None:
        nursery = GivenNursery()
        pool = Pool(home, LIMITS, lambda **_: None, nursery)
        await pool.start()
        await test(pool, nursery)

    asyncio.run(within())


async def ask(pool: Pool, holder: Holder, *, used_s: float = 0.0) -> asyncio.Task[Worker]:
    """Ask for a worker, and where it is given at once, have a statement run in it."""
    asking = asyncio.create_task(pool.lease(holder))
    for _ in range(20):
        await asyncio.sleep(0)
    if asking.done():
        asking.result().pending, asking.result().is_given = 1, False
        asking.result().used_s = used_s
    return asking


async def crowd(pool: Pool, connections: int, used_s: float) -> list[asyncio.Task[Worker]]:
    return [await ask(pool, Holder("crowd", None), used_s=used_s) for _ in range(connections)]


def test_a_crowd_leaves_places_and_started_workers_to_others(home: Home) -> None:
    async def test(pool: Pool, nursery: GivenNursery) -> None:
        hostile = await crowd(pool, 12, 9.0)
        assert sum(one.done() for one in hostile) == LIMITS.statements
        nursery.is_slow = True  # from here on only what was started ahead can be given
        for token in ("honest", "newcomer"):
            assert (await ask(pool, Holder(token, None))).done()
        assert nursery.ended == []

    with_pool(home, test)


def test_spare_workers_are_there_whatever_runs(home: Home) -> None:
    async def test(pool: Pool, nursery: GivenNursery) -> None:
        await crowd(pool, 12, 9.0)
        assert pool.numbers()["workers"] == LIMITS.statements + SPARE
        for n in range(turns.RESERVE):
            await ask(pool, Holder(f"honest {n}", None))
        assert pool.numbers()["workers"] == PLACES + SPARE

    with_pool(home, test)


def test_a_full_reserve_is_cleared_at_once_of_what_runs_long(home: Home) -> None:
    """Nobody waits until the kernel has taken the ended worker apart."""

    async def test(pool: Pool, nursery: GivenNursery) -> None:
        hostile = await crowd(pool, LIMITS.statements, 9.0)
        for n in range(turns.RESERVE):
            await ask(pool, Holder(f"analyst {n}", None), used_s=20.0)
        honest = await ask(pool, Holder("honest", None))
        assert honest.done()
        (ended,) = nursery.ended
        assert ended in {one.result().number for one in hostile}

    with_pool(home, test)


def test_no_short_statement_is_ended_and_who_comes_then_waits_for_its_end(home: Home) -> None:
    async def test(pool: Pool, nursery: GivenNursery) -> None:
        short = [await ask(pool, Holder(f"honest {n}", None)) for n in range(PLACES)]
        late = await ask(pool, Holder("late", None))
        pool.supervise()
        assert not late.done()
        assert nursery.ended == []
        short[0].result().pending = 0
        pool.supervise()
        assert (await late).holder is not None

    with_pool(home, test)


def test_a_connection_at_rest_waits_for_its_turn_like_any_other(home: Home) -> None:
    """Those who hold a worker from before must not all begin beside each other."""

    async def test(pool: Pool, nursery: GivenNursery) -> None:
        resting = [Holder("crowd", None) for _ in range(LIMITS.statements + SPARE)]
        for holder in resting:
            worker = (await ask(pool, holder)).result()
            worker.pending = 0
        again = [await ask(pool, holder, used_s=9.0) for holder in resting]
        assert sum(one.done() for one in again) == LIMITS.statements
        for one, holder in zip(again, resting, strict=True):
            assert not one.done() or one.result().holder is holder
        assert (await ask(pool, Holder("honest", None))).done()

    with_pool(home, test)


def test_a_worker_that_was_given_is_not_taken_before_it_is_asked(home: Home) -> None:
    async def test(pool: Pool, nursery: GivenNursery) -> None:
        nursery.is_slow = True
        given = [asyncio.create_task(pool.lease(Holder(f"honest {n}", None))) for n in range(4)]
        for _ in range(20):
            await asyncio.sleep(0)
        workers = [one.result() for one in given if one.done()]
        assert len(workers) == len({worker.number for worker in workers}) > 0

    with_pool(home, test)
