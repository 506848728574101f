"""Times that pass since a start or since the last shot, as a stopwatch shows them."""

from __future__ import annotations

from pathlib import Path

import pytest
import rangeledger as rl

HEAD = "Club,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
SHOTS = [f"7 iron,118.{k},17.{k},6{k}00,16{k}.1" for k in range(4)]


def clocks(folder: Path, above: str, heading: str, cells: list[str]) -> list[str | None]:
    """Times of day of four shots."""
    export = folder / "range.csv"
    rows = [f"{shot},{cell}" for shot, cell in zip(SHOTS, cells, strict=True)]
    export.write_text("\n".join([above, f"{HEAD},{heading}", *rows]), encoding="utf-8")
    struck = rl.read_export(export, zone="UTC").shots["struck_at"]
    return struck.dt.to_string("%H:%M:%S").to_list()


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Elapsed (mm:ss)", ["00:00", "00:45", "01:30", "02:20"]),
        ("Time since start", ["0:00:00", "0:00:45", "0:01:30", "0:02:20"]),
        ("Seconds since last shot", ["0", "45", "45", "50"]),
        ("seit letztem Schlag (s)", ["0", "45", "45", "50"]),
        ("Since last shot", ["0 s", "45 s", "45 s", "50 s"]),
        ("Since last shot (min)", ["0", "0.75", "0.75", "0.8333333"]),
        ("Minutes since start", ["0", "0.75", "1.5", "2.3333333"]),
    ],
)
def test_what_passes_is_added_to_the_stated_start(
    tmp_path: Path, heading: str, cells: list[str]
) -> None:
    found = clocks(tmp_path, "Session start: 2025-04-22 17:30:00", heading, cells)
    assert found == ["17:30:00", "17:30:45", "17:31:30", "17:32:20"]


def test_time_that_passes_without_a_start_is_no_time_of_day(tmp_path: Path) -> None:
    found = clocks(tmp_path, "Date: 2025-04-22", "Elapsed", ["00:00", "00:45", "01:30", "02:20"])
    assert len(set(found)) == 1


@pytest.mark.parametrize(
    ("heading", "cells"),
    [
        ("Since last shot (s)", ["0", "45", "", "50"]),  # what passed there nobody says
        ("Since last shot", ["0", "1", "2", "1"]),  # no seconds, and nothing says what else
    ],
)
def test_gaps_that_are_not_clear_are_not_added(
    tmp_path: Path, heading: str, cells: list[str]
) -> None:
    found = clocks(tmp_path, "Session start: 2025-04-22 17:30:00", heading, cells)
    assert set(found) == {"17:30:00"}
