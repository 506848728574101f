"""Each record of an export is the source of shots, a rejected row or an other line, exactly one."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.prepared_export import PreparedExport
from rangeledger.pipelines.reader.recognising.words.remark import Remark, as_remark
from rangeledger.schemas.errors import ExportError

from tests.exports.generator import random_export
from tests.pipelines.reader.recognising.writing import prepared

HEAD = "Club,Ball speed (m/s),Launch angle (°),Spin (rpm),Carry (m),Comment"
SHOTS = [
    '7 Iron,48.0,17.5,6100,137.9,"one line,\nand another"',
    "7 Iron,46.0,18.5,6300,130.9,worst of the day",
    "7 Iron,47.2,18.0,6200,135.0,",
]


def lines_of(export: PreparedExport) -> Counter[int]:
    """How often each line is accounted for; a line that gives several shots counts once."""
    shots = set(export.shots["source_row"].to_list())
    rejected = set(export.rejected["source_row"].to_list()) - shots
    return Counter([*shots, *rejected, *export.other_lines["source_row"].to_list()])


@pytest.mark.parametrize(
    "seeds", [range(16), pytest.param(range(16, 200), marks=pytest.mark.long)], ids=["few", "many"]
)
def test_every_line_is_accounted_for_once(tmp_path: Path, seeds: range) -> None:
    read = 0
    for seed in seeds:
        one = random_export(seed)
        path = tmp_path / f"{seed}.csv"
        path.write_bytes(one.content)
        if one.note is not None:
            path.with_suffix(".toml").write_text(one.note, encoding="utf-8")
        try:
            export = prepare_export(path)
        except ExportError:
            continue
        read += 1
        found = lines_of(export)
        assert set(found.values()) == {1}
        assert set(found) >= set(range(1, min(found)))
        assert len(found) == max(found) or one.content.count(b'"')  # a quoted line break
    assert read > len(seeds) // 2


def test_a_record_over_two_lines_counts_at_its_first(tmp_path: Path) -> None:
    export = prepared(tmp_path, "\n".join(["# spring", HEAD, "", *SHOTS, "Mean,47,18,6200,134.6,"]))
    assert export.shots["source_row"].to_list() == [4, 6, 7]
    assert export.other_lines.rows() == [
        (1, "comment", "# spring"),
        (2, "heading", HEAD),
        (3, "blank", ""),
        (8, "summary", "Mean,47,18,6200,134.6,"),
    ]


def test_the_lines_of_a_turned_table_are_accounted_for(tmp_path: Path) -> None:
    rows = [HEAD.split(",")[:5], *(line.split(",")[:5] for line in SHOTS)]
    text = "\n".join(";".join(row) for row in zip(*rows, strict=True))
    export = prepared(tmp_path, f"Player: Bo Ek\n\n{text}\n")
    assert export.shots["source_row"].to_list() == [3, 3, 3]
    assert export.other_lines["source_row"].to_list() == [1, 2, 4, 5, 6, 7]
    assert export.other_lines["taken_for"].to_list() == ["note", "blank", *["turned"] * 4]


def test_a_remark_names_its_place_and_what_settles_it() -> None:
    assert as_remark("Column 'Vel' was left out.").place == "column 'Vel'"
    assert as_remark("A club stands once.").place == ""
    remark = Remark("line 3", "Not understood.", "State it in a note.")
    assert as_remark(remark) is remark
    assert str(remark) == "Line 3: Not understood. State it in a note."


def test_remarks_come_with_the_export(tmp_path: Path) -> None:
    players = ("Bo Ek", "BO EK", "Bo Ek")
    rows = [f"{player},{line}" for player, line in zip(players, SHOTS, strict=True)]
    export = prepared(tmp_path, "\n".join([f"Player,{HEAD}", *rows]))
    assert "Player 'BO EK' is 'Bo Ek'." in [remark.sentence for remark in export.remarks]
    assert export.remark_rows().height == len(export.recognition.remarks)
