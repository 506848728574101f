"""Work in a second thread: the same results and faults as in the first."""

from __future__ import annotations

import threading

import pytest
from rangeledger.pipelines.background import run_in_background


@pytest.mark.parametrize("long", [False, True])
def test_results_come_when_asked_for(long: bool) -> None:
    found = run_in_background(
        lambda: threading.current_thread() is threading.main_thread(), long=long
    )
    assert found() is not long
    assert found() is not long


def test_a_fault_is_raised_where_the_result_is_asked_for() -> None:
    broken = run_in_background(lambda: 1 // 0, long=True)
    with pytest.raises(ZeroDivisionError):
        broken()
