"""Texts taken apart into phrases of the vocabularies."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.normalising.phrases import NUMBER, any_of, only, pieces_of


def test_the_longest_phrase_counts_and_no_word_is_lost() -> None:
    pieces = pieces_of("Simulated shots, 12 of the 7", ("purposes", "fillers_said"))
    assert [(p.text, p.kind) for p in pieces] == [
        ("simulated shots", "purposes"),
        ("12", NUMBER),
        ("of", "fillers_said"),
        ("the", "fillers_said"),
        ("7", NUMBER),
    ]


def test_a_meaning_counts_only_where_nothing_else_is_said() -> None:
    kinds = ("surfaces", "fillers_said")
    assert only(pieces_of("All off the mat", kinds), "surfaces", "fillers_said") == "mat"
    assert only(pieces_of("Off the broken mat", kinds), "surfaces", "fillers_said") is None
    assert only(pieces_of("Off mat and grass", kinds), "surfaces", "fillers_said") is None


def test_an_expression_takes_the_words_of_the_meanings_that_are_asked_for() -> None:
    joined = re.compile(rf"18 {any_of('between', 'to')} 20")
    assert joined.fullmatch("18 till 20")
    assert joined.fullmatch("18 t/m 20")
    assert not joined.search("18 and 20")
    assert re.fullmatch(any_of("between"), "and")
