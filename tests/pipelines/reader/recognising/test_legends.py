"""Codes that a line beside the table explains. Wordings: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.legends import legends_in
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.test_lines_and_refusals import read

CODED = ["3,150,110,17", "3,152,111,16", "3,149,109,18", "1,231,150,12", "1,228,149,11",
         "1,225,147,13"]  # fmt: skip


@pytest.mark.parametrize(
    "legend",
    [
        "Rack slots: 1 driver / 3 seven iron",
        "Slots: 1 = driver; 3 = 7 iron",
        "1 = Driver; 2 = 5 wood; 3 = 7 iron",
    ],
)
def test_codes_of_clubs_are_spelt_out(tmp_path: Path, legend: str) -> None:
    head = "Rack slot,Carry (yd),Ball speed (mph),Launch (deg)"
    if not legend.startswith(("Rack", "Slot")):
        head = head.replace("Rack slot", "Club")
    shots = read(tmp_path, [head, *CODED, "", legend]).shots
    assert shots["club"].to_list() == ["7-iron"] * 3 + ["driver"] * 3


def test_a_column_that_no_legend_names_is_no_club(tmp_path: Path) -> None:
    head = "Tray,Carry (yd),Ball speed (mph),Launch (deg)"
    with pytest.raises(ExportError, match="which club"):
        read(tmp_path, [head, *CODED, "", "Rack slots: 1 driver / 3 seven iron"])


def test_a_remark_is_no_legend() -> None:
    assert legends_in(["7 iron felt good, driver did not", "Goal: 150 yd", "a = b"]) == []


HEAD = "Origin,Club,Carry (yd),Ball speed (mph)"
ROWS = ["{0},7 iron,150,110", "{0},7 iron,152,111", "{1},7 iron,149,109", "{0},7 iron,151,110.5"]


@pytest.mark.parametrize(
    ("line", "struck", "reckoned"),
    [
        ("Origin: hit = a ball was struck; sim = simulated by the program", "hit", "sim"),
        ("Some shots", "player", "simulated (demo mode)"),
    ],
)
def test_simulated_rows_are_no_shots(tmp_path: Path, line: str, struck: str, reckoned: str) -> None:
    export = read(tmp_path, [line, HEAD, *(row.format(struck, reckoned) for row in ROWS)])
    assert export.shots.height == 3
    assert export.rejected["reason_code"].to_list() == ["not-a-shot"]


def test_rows_of_percentiles_are_no_shots(tmp_path: Path) -> None:
    rows = [
        f"{club},P{p},{c},{s}"
        for club in ("7 iron", "Driver", "9 iron")
        for p, c, s in ((10, 140, 104), (50, 148, 107), (90, 155, 110))
    ]
    with pytest.raises(ExportError, match="P10"):
        read(tmp_path, ["Club,Percentile,Carry (yd),Ball speed (mph)", *rows])
