"""Headings that native writers of nine languages typed without having read the vocabularies."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.heading import Heading, read_heading

HEADINGS = Path(__file__).parents[4] / "exports" / "native_headings.tsv"
_SURE = 0.6
# `Timestamp` is a time of day until its cells show a date.
_ALIKE = {("date_and_time", "time_of_day"), ("shot_number", "shot_count")}
_MOST_TAKEN = 3  # deviations from a goal, which read as sides


def _read() -> list[tuple[str, str, str, Heading]]:
    rows = (line.split("\t") for line in HEADINGS.read_text(encoding="utf-8").splitlines())
    return [
        (language, text, meaning, read_heading(text, "", "da" if language == "no" else language))
        for language, text, meaning in rows
    ]


def _found(heading: Heading) -> str:
    """The column that a heading surely names, else nothing."""
    sure = heading.best is not None and not heading.unknown and heading.weight >= _SURE
    return heading.best.column if heading.best and sure else ""


def test_no_heading_is_taken_for_another_quantity() -> None:
    wrong = [
        (language, text, meaning, found)
        for language, text, meaning, heading in _read()
        if meaning != "none" and (found := _found(heading)) not in ("", meaning)
        and (meaning, found) not in _ALIKE
    ]  # fmt: skip
    assert wrong == [("it", "colpito da (tee/tappeto/erba)", "surface", "player")]


def test_what_is_no_column_of_a_shot_is_hardly_ever_taken_for_one() -> None:
    taken = [text for _, text, meaning, heading in _read() if meaning == "none" and _found(heading)]
    assert len(taken) <= _MOST_TAKEN, taken


@pytest.mark.parametrize("least", [0.97])
def test_nearly_all_are_understood_in_each_language(least: float) -> None:
    right, all_of = Counter[str](), Counter[str]()
    for language, _, meaning, heading in _read():
        if meaning != "none":
            all_of[language] += 1
            right[language] += _found(heading) == meaning
    shares = {language: right[language] / count for language, count in all_of.items()}
    assert min(shares.values()) >= least, shares
