from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.pipelines.loading.file_names import (
    place_of,
    place_text,
    plain_ending,
    shown,
    stored,
)

NAMES = st.binary(min_size=1, max_size=255).filter(lambda raw: not set(raw) & set(b"/\0"))


@given(NAMES)
def test_any_name_is_shown_stored_and_found_again(raw: bytes) -> None:
    name = os.fsdecode(raw)
    text = json.dumps({"name": shown(name), "place": place_text(Path("x") / name)})
    told = json.loads(text.encode("utf-8").decode("utf-8"))
    assert place_of(told["place"]) == Path("x") / name
    assert shown(name).isprintable()
    assert len(stored(name).encode("utf-8")) <= 200
    assert "/" not in stored(name)


def test_a_plain_name_stays_as_it_is() -> None:
    for name in ("visit 3.csv", "Übung–ß.txt", "7番アイアン.csv"):
        assert (shown(name), stored(name), place_text(Path(name))) == (name, name, name)


def test_odd_bytes_and_line_breaks_are_escaped() -> None:
    assert shown(os.fsdecode(b"caf\xe9.csv")) == "caf\\xe9.csv"
    assert shown("a\nb\x1b[2J.csv") == "a\\nb\\x1b[2J.csv"


def test_a_long_name_keeps_its_beginning_and_ending() -> None:
    long = stored("visit-" + "x" * 240 + "-end.csv")
    assert long.startswith("visit-x")
    assert long.endswith("x-end.csv")


@pytest.mark.parametrize(
    ("name", "ending"),
    [("a.CSV", ".csv"), ("a", ".csv"), ("a.t x", ".csv"), ("a." + "x" * 200, ".csv")],
)
def test_the_archive_takes_plain_endings_only(name: str, ending: str) -> None:
    assert plain_ending(name) == ending
