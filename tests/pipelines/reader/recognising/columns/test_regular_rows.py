"""Rows too regular to be struck."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.lines.test_lines_and_refusals import HEAD, SHOTS, read


def test_a_grid_of_speeds_and_launches_is_refused(tmp_path: Path) -> None:
    rows = [
        f"7 iron,{speed},{launch},6500,{carry}"
        for speed, carries in (
            (110, (150, 152, 153)),
            (115, (160, 162, 163)),
            (120, (169, 171, 172)),
        )
        for launch, carry in zip((14, 16, 18), carries, strict=True)
    ]
    with pytest.raises(ExportError, match="even steps") as refused:
        read(tmp_path, [HEAD, *rows])
    assert refused.value.code == "no-shots"


def test_a_chart_of_whole_distances_is_refused(tmp_path: Path) -> None:
    rows = [
        "Driver,235,255",
        "3 wood,215,230",
        "5 iron,175,185",
        "7 iron,155,162",
        "9 iron,132,136",
    ]
    with pytest.raises(ExportError) as refused:
        read(tmp_path, ["Club,Carry (yd),Total (yd)", *rows])
    assert refused.value.code == "averages-only"


def test_shots_as_players_strike_them_stay(tmp_path: Path) -> None:
    assert read(tmp_path, [HEAD, *SHOTS]).shots.height == 4
