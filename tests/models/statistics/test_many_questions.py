"""Many questions: the worked example of Benjamini & Hochberg, and rates by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from rangeledger.models.statistics.many_questions import discoveries
from scipy import stats

# Benjamini & Hochberg 1995, J. R. Statist. Soc. B 57, section 4.1: fifteen hypotheses of the
# thrombolysis trial (from memory; scipy.stats.false_discovery_control agrees below).
THROMBOLYSIS = np.array(
    [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
     0.5719, 0.6528, 0.7590, 1.0000]
)  # fmt: skip


def test_the_published_example() -> None:
    """At 5 % the first four are told."""
    assert discoveries(THROMBOLYSIS, 0.05).sum() == 4


def test_any_order_and_scipy() -> None:
    rng = np.random.default_rng(1)
    shuffled = rng.permutation(THROMBOLYSIS)
    adjusted = stats.false_discovery_control(shuffled, method="bh")
    assert (discoveries(shuffled, 0.05) == (adjusted <= 0.05)).all()
    assert discoveries(np.empty(0), 0.1).shape == (0,)


def test_where_there_is_nothing_something_is_told_at_the_stated_rate() -> None:
    rng = np.random.default_rng(2)
    false = np.mean([discoveries(rng.random(24), 0.10).any() for _ in range(4000)])
    # 4,000 tries: two standard errors are 0.01.
    assert false == pytest.approx(0.10, abs=0.012)
