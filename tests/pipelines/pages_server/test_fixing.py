"""Columns as the fixing page shows them: by heading, and by place where that is not enough."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.pages_server.fixing.fix_pages import updated_note, with_evidence
from rangeledger.pipelines.pages_server.fixing.fix_words import (
    asks_of,
    heading_words,
    said_here,
    shown_shots,
)
from rangeledger.pipelines.pages_server.fixing.mapping_text import format_mapping, parse_mapping
from rangeledger.pipelines.pages_server.fixing.trial import read_for_fixing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.pages.units import METRES, YARDS

TWICE = """Player,Day,Stick,Carry,Carry,,Launch,Ball speed mph
Ann Lee,2026-05-02,7 Iron,151,165,3.5,17.1,112
Ann Lee,2026-05-02,7 Iron,153,166,2.5,16.8,113
Ann Lee,2026-05-02,7 Iron,148,162,-4.5,17.5,110
Ann Lee,2026-05-02,8 Iron,140,155,1.5,19.0,106
Ann Lee,2026-05-02,8 Iron,141,157,5.5,18.8,107
"""


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Carry", "Carry"), ("Carry@5", "Carry, column 5"),
        ("@6", "Column 6, without a heading"), ("me@home", "me@home"),
    ],
)  # fmt: skip
def test_a_column_is_called_by_its_place_where_its_heading_is_not_enough(
    heading: str, words: str
) -> None:
    assert heading_words(heading) == words


def test_columns_of_one_heading_and_of_none_are_told_apart_by_their_cells_and_mapped_by_place(
    home: Home, tmp_path: Path
) -> None:
    path = tmp_path / "twice.csv"
    path.write_text(TWICE)
    asked = {"home": str(home.root), "path": str(path), "name": path.name}
    read = read_for_fixing(asked | {"mapping": None, "note": None})
    assert not read["loads"]
    headings, columns, others = parse_mapping(read["mapping"])
    shown = {one.heading: one for one in with_evidence(columns, read)}
    assert shown["Carry@4"].cells == ["151", "153", "148", "140"]
    assert shown["Carry@5"].cells == ["165", "166", "162", "155"]
    assert shown["@6"].cells == ["3.5", "2.5", "-4.5", "1.5"]
    assert shown["Carry@5"].possible == ["carry_m"]

    shown["Carry@4"].unit = "yd"
    shown["Carry@5"].column, shown["Carry@5"].unit = "total_m", "yd"
    shown["@6"].column, shown["@6"].unit, shown["@6"].positive = "carry_side_m", "yd", "right"
    text = format_mapping(headings, list(shown.values()), others)
    read = read_for_fixing(asked | {"mapping": text, "note": None})
    assert (read["loads"], read["shots"]) == (True, 5)
    first = {row["column"]: row["values"][0] for row in read["after"]}
    # 1 yd is 0.9144 m exactly (NIST SP 811); across by 3.5, so straight 151 is 150.96 along.
    assert float(first["total_m"]) == pytest.approx(0.9144 * 165, abs=0.05)
    assert float(first["carry_side_m"]) == pytest.approx(0.9144 * 3.5, abs=0.01)
    assert float(first["carry_m"]) == pytest.approx(0.9144 * 150.96, abs=0.1)


def test_doubts_are_told_without_the_words_of_mapping_files() -> None:
    told = said_here('is this carry_m? Of such columns keep one, "" the others.')
    assert told == "is this carry? Of such columns keep one, “nothing that counts” for the others."
    assert said_here("columns 'A' both read as total_m. Say in a mapping which one it is.") == (
        "columns 'A' both read as total. Say below which one it is."
    )


def test_the_first_shots_are_told_in_the_units_of_the_page() -> None:
    after = [
        {"column": "club", "values": ["7-iron", None]},
        {"column": "ball", "values": ["unknown", "unknown"]},
        {"column": "carry_m", "values": [91.44, None]},
        {"column": "ball_speed_mps", "values": [44.704, 44.704]},
        {"column": "source_row", "values": [2, 3]},
    ]
    # 91.44 m are 100 yd, 44.704 m/s are 100 mph: NIST SP 811.
    assert shown_shots(after, YARDS) == [
        {"words": "club", "cells": ["7-iron", "–"]},
        {"words": "carry, yd", "cells": ["100.0", "–"]},
        {"words": "ball speed, mph", "cells": ["100.0", "100.0"]},
    ]
    assert shown_shots(after, METRES)[1:] == [
        {"words": "carry, m", "cells": ["91.4", "–"]},
        {"words": "ball speed, m/s", "cells": ["44.7", "44.7"]},
    ]


def test_what_the_form_says_takes_the_place_of_what_the_note_said() -> None:
    former = {"player": "Ann", "ball": "range", "wind_speed_mps": 3.0}
    assert updated_note(former, {"player": "Bea", "ball": ""}) == {
        "wind_speed_mps": 3.0, "player": "Bea",
    }  # fmt: skip
    assert updated_note(former, {"player": "Ann", "ball": "range"}) == former


@pytest.mark.parametrize(
    ("column", "asks"),
    [
        ("", (True, True)), ("club", (False, False)), ("carry_m", (True, False)),
        ("carry_side_m", (True, True)),
    ],
)  # fmt: skip
def test_units_and_sides_are_asked_of_columns_that_have_them(
    column: str, asks: tuple[bool, bool]
) -> None:
    assert asks_of(column) == asks
