"""Which of several exports of the same shots counts."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from rangeledger.warehouse.counting.versions import Version, ranked, taken_out
from rangeledger.warehouse.removing.forgetting import Cut, Plan, decision_left
from rangeledger.warehouse.removing.leftover_names import Names

NOON = datetime(2026, 5, 2, 12)


def order(*versions: Version, decisions: list[dict[str, object]] | None = None) -> list[str]:
    ranks = ranked(versions, decisions or [])
    return sorted(ranks, key=ranks.__getitem__)


def version(name: str, minutes: int = 0, load: int = 1) -> Version:
    return Version(name, f"{name}.csv", NOON + timedelta(minutes=minutes), load)


def test_the_later_export_is_the_newer_whatever_was_loaded_last() -> None:
    assert order(version("visit", 5, load=1), version("a", 0, load=2)) == ["a", "visit"]


@pytest.mark.parametrize(
    ("older", "newer"),
    [
        ("visit", "visit corrected"),
        ("visit", "visit (2)"),
        ("visit 2", "visit 10"),
        ("visit", "visit-v2"),
    ],
)
def test_of_equal_times_the_longer_name_is_the_newer(older: str, newer: str) -> None:
    assert order(version(newer, load=1), version(older, load=2)) == [older, newer]


def test_what_is_preferred_stands_just_above_what_it_was_preferred_to() -> None:
    three = version("a", 0), version("b", 10), version("c", 20)
    prefer = {"kind": "prefer", "source_file": "a", "over": ["b"]}
    assert order(*three, decisions=[prefer]) == ["b", "a", "c"]
    back = {"kind": "prefer", "source_file": "b", "over": ["a"]}
    assert order(*three, decisions=[prefer, back]) == ["a", "b", "c"]
    unknown = {"kind": "prefer", "source_file": "z", "over": ["a"]}
    assert order(*three, decisions=[unknown]) == ["a", "b", "c"]


def test_what_was_taken_out_has_no_rank_until_it_is_taken_back() -> None:
    out = {"kind": "export", "source_file": "b", "excluded": True}
    two = version("a", 0), version("b", 10)
    assert order(*two, decisions=[out]) == ["a"]
    assert taken_out([out]) == {"b"}
    back = out | {"excluded": False}
    assert order(*two, decisions=[out, back]) == ["a", "b"]
    assert taken_out([out, back]) == set()


def test_what_is_forgotten_takes_the_decision_about_it_along() -> None:
    """Nothing is left to decide about an export that went; of one that was cut there is."""
    out = {"kind": "export", "source_file": "b" * 64, "excluded": True}
    names = Names([])
    assert decision_left(out, Plan(["b" * 64]), names) is None
    assert decision_left(out, Plan(["a" * 64]), names) == out
    cut = Plan([], cuts=[Cut("b" * 64, "c" * 64, {})])
    assert decision_left(out, cut, names) == out | {"source_file": "c" * 64}
