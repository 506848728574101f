"""Columns as the fixing page shows them: by heading, and by place where that is not enough."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.pages_server.fixing.fix_pages import heading_words, with_evidence
from rangeledger.pipelines.pages_server.fixing.mapping_text import put_together, taken_apart
from rangeledger.pipelines.pages_server.fixing.trial import read_for_fixing
from rangeledger.warehouse.home import Home

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
    headings, columns, others = taken_apart(read["mapping"])
    shown = {one.heading: one for one in with_evidence(columns, read)}
    assert shown["Carry@4"].cells == ["151", "153", "148", "140"]
    assert shown["Carry@5"].cells == ["165", "166", "162", "155"]
    assert shown["@6"].cells == ["3.5", "2.5", "-4.5", "1.5"]
    assert shown["Carry@5"].possible == ["carry_m"]

    shown["Carry@4"].unit = "yd"
    shown["Carry@5"].column, shown["Carry@5"].unit = "total_m", "yd"
    shown["@6"].column, shown["@6"].unit, shown["@6"].positive = "carry_side_m", "yd", "right"
    text = put_together(headings, list(shown.values()), others)
    read = read_for_fixing(asked | {"mapping": text, "note": None})
    assert (read["loads"], read["shots"]) == (True, 5)
    first = {row["column"]: row["values"][0] for row in read["after"]}
    # 1 yd is 0.9144 m exactly (NIST SP 811); across by 3.5, so straight 151 is 150.96 along.
    assert float(first["total_m"]) == pytest.approx(0.9144 * 165, abs=0.05)
    assert float(first["carry_side_m"]) == pytest.approx(0.9144 * 3.5, abs=0.01)
    assert float(first["carry_m"]) == pytest.approx(0.9144 * 150.96, abs=0.1)
