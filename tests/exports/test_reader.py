"""The whole reader against random exports: no value may be wrong without a word."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.exports.score import RIGHT, WRONG, generated, judge_all, report

LEAST_RIGHT = 0.85


def _judge(seeds: range, folder: Path) -> None:
    verdicts = judge_all(generated(seeds, folder))
    counts = Counter(verdict.verdict for verdict, _ in verdicts)
    assert counts[WRONG] == 0, report(verdicts)
    assert counts[RIGHT] >= LEAST_RIGHT * len(verdicts), report(verdicts)


def test_random_exports_are_read_right_or_refused(tmp_path: Path) -> None:
    _judge(range(12_000, 12_060), tmp_path)


@pytest.mark.long
@pytest.mark.parametrize("start", [10_000, 10_150])
def test_many_random_exports_are_read_right_or_refused(start: int, tmp_path: Path) -> None:
    _judge(range(start, start + 150), tmp_path)
