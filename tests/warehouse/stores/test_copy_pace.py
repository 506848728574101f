"""When a whole database is copied into the bucket again."""

from __future__ import annotations

from rangeledger.warehouse.stores.copy_pace import SMALL, CopyPace


def test_a_large_database_is_copied_a_twentieth_of_the_time_and_a_small_one_always() -> None:
    now = [100.0]
    pace = CopyPace(lambda: now[0])
    assert pace.is_due(SMALL)
    with pace.timed():
        now[0] += 3.0
    assert pace.is_due(SMALL - 1)
    now[0] += 19 * 3.0 - 0.5
    assert not pace.is_due(SMALL)
    now[0] += 1.0
    assert pace.is_due(SMALL)


def test_a_copy_that_failed_is_due_again() -> None:
    pace = CopyPace(lambda: 100.0)
    try:
        with pace.timed():
            raise OSError
    except OSError:
        assert pace.is_due(SMALL)
