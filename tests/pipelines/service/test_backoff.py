from __future__ import annotations

from rangeledger.pipelines.service.backoff import Backoff


def test_pauses_double_to_a_bound_and_begin_anew_after_a_success() -> None:
    backoff = Backoff(first_s=1.0, most_s=6.0)
    assert [backoff.next_s() for _ in range(5)] == [1.0, 2.0, 4.0, 6.0, 6.0]
    backoff.reset()
    assert backoff.next_s() == 1.0
