"""Tables with several shots a line are read shot by shot, or refused with a question."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from rangeledger.pipelines.reader.prepared_export import RefusedExportError

from tests.pipelines.reader.recognising.writing import launches, prepared

_HEADINGS = ("Club", "Ball speed (m/s)", "Launch (deg)", "Carry (m)")


def _row(place: int, club: str) -> list[str]:
    flights = launches(14)
    names = ("ball_speed_mps", "launch_angle_deg", "carry_m")
    return [club, *(f"{flights[name][place]:.1f}" for name in names)]


def _beside(above: list[str], rows: int = 7) -> str:
    """Two tables side by side, the iron's left and the driver's right, a blank column between."""
    lines = [",".join([*_row(k, "7 Iron"), "", *_row(k + rows, "Driver")]) for k in range(rows)]
    return "\n".join([*above, ",".join([*_HEADINGS, "", *_HEADINGS]), *lines]) + "\n"


def test_two_tables_side_by_side_give_the_shots_of_both(tmp_path: Path) -> None:
    export = prepared(tmp_path, _beside([]))
    assert export.shots["source_row"].to_list() == [line for line in range(2, 9) for _ in range(2)]
    assert export.shots["club"].to_list() == ["7-iron", "driver"] * 7
    flights = launches(14)["carry_m"].round(1)
    expected = np.stack([flights[:7], flights[7:]], axis=1).ravel()
    assert export.shots["carry_m"].to_list() == pytest.approx(expected.tolist())
    assert export.shots["shot_id"].n_unique() == 14
    assert export.other_lines["source_row"].to_list() == [1]


def test_names_above_two_tables_are_those_of_the_players(tmp_path: Path) -> None:
    export = prepared(tmp_path, _beside(["Tamsin Orrelle,,,,,Wendel Askby,,,"]))
    assert export.shots["player"].to_list() == ["Tamsin Orrelle", "Wendel Askby"] * 7


def test_other_words_above_them_name_nobody(tmp_path: Path) -> None:
    export = prepared(tmp_path, _beside(["Before,,,,,After,,,"]))
    assert set(export.shots["player"]) == {"unknown"}
    assert export.shots.height == 14


def test_numbered_columns_of_several_quantities_are_shots(tmp_path: Path) -> None:
    names = [f"{what}_{k}" for k in (1, 2, 3) for what in ("ball_speed_mps", "carry_m")]
    rows = [
        ",".join([club, *(c for k in range(3) for c in _row(first + k, "")[1:4:2])])
        for club, first in (("7 Iron", 0), ("Driver", 7), ("7 Iron", 3), ("Driver", 10))
    ]
    text = "\n".join([",".join(["club", *names]), *rows]) + "\n"
    export = prepared(tmp_path, text)
    assert export.shots.height == 12
    assert export.shots["source_row"].to_list() == [2] * 3 + [3] * 3 + [4] * 3 + [5] * 3


@pytest.mark.parametrize(("stem", "loaded"), [("carry_{}_m", False), ("shot {} carry (m)", True)])
def test_one_numbered_quantity_is_asked_about_unless_it_speaks_of_shots(
    tmp_path: Path, stem: str, loaded: bool
) -> None:
    carries = launches(14)["carry_m"]
    rows = [
        ",".join([club, *(f"{x:.1f}" for x in carries[first : first + 4])])
        for club, first in (("7 Iron", 0), ("7 Iron", 3), ("Driver", 7), ("Driver", 10))
    ]
    text = "\n".join([",".join(["club", *(stem.format(k) for k in range(1, 5))]), *rows]) + "\n"
    if loaded:
        assert prepared(tmp_path, text).shots.height == 16
    else:
        with pytest.raises(RefusedExportError, match=r"Line 1: .* may be 4 shots"):
            prepared(tmp_path, text)


def test_two_readings_of_one_shot_are_not_two_shots(tmp_path: Path) -> None:
    flights = launches(8)
    rows = [
        f"7 Iron,{flights['ball_speed_mps'][k]:.1f},{flights['carry_m'][k]:.1f},"
        f"{flights['carry_m'][k] * 1.01:.1f}"
        for k in range(4)
    ]
    text = "\n".join(["club,ball speed (m/s),carry 1 (m),carry 2 (m)", *rows]) + "\n"
    export = prepared(tmp_path, text)
    assert export.shots.height == 4
    assert export.shots["carry_m"].null_count() == 4
    assert any("carry 1 (m)" in str(remark) for remark in export.remarks)
