"""Cells that say that there is no value."""

from __future__ import annotations

from rangeledger.pipelines.reader.normalising.missing import is_missing


def test_words_and_marks() -> None:
    assert is_missing(None)
    assert is_missing(" -- ")
    assert not is_missing("0")
    assert not is_missing("driver")
