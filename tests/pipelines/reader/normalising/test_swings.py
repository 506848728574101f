"""Clock positions and feel labels; spellings are common practice, no source."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.normalising.swings import (
    asks_for_hours,
    club_and_swing,
    swing_by_hours,
    swing_of,
)


@pytest.mark.parametrize(
    ("cell", "parted"),
    [
        ("GW 9:00", ("GW", "9:00")),
        ("56° (10:30)", ("56°", "10:30")),
        ("9 o'clock SW", ("SW", "9:00")),
        ("PW full", ("PW", "full")),
        ("9 Uhr Eisen 7", ("Eisen 7", "9:00")),
        ("7 iron", None),
        ("my 9:00 toy", None),
        ("GW", None),
    ],
)
def test_a_club_and_its_swing_in_one_cell(cell: str, parted: tuple[str, str] | None) -> None:
    assert club_and_swing(cell) == parted


@pytest.mark.parametrize(
    ("cells", "swing"),
    [
        ("9:00|9 o'clock|9 o’clock|9h|09:00|9 Uhr|9 heures", "9:00"),
        ("kl 9|kl. 9|9 horas|a las 9|9:00:00|9 oclock", "9:00"),
        ("10:30|10.30|10h30|half past ten|halb elf|halv elva|10:30 Uhr|10:30 h", "10:30"),
        ("10 Uhr 30|a las 10 y media|10 y media|10 heures et demie", "10:30"),
        ("full|Full|FULL SWING|voll|plein|completo|hel|100%", "full"),
        ("3/4", "3/4"),
        ("Three-Quarter", "three-quarter"),
        ("Knock  Down", "knock down"),
        ("9", "9"),
        ("25:00", "25:00"),
    ],
)  # fmt: skip
def test_swings(cells: str, swing: str) -> None:
    assert {swing_of(cell) for cell in cells.split("|")} == {swing}


@pytest.mark.parametrize("cell", [None, "", "-", "n/a"])
def test_missing_swing(cell: str | None) -> None:
    assert swing_of(cell) is None


@pytest.mark.parametrize(
    ("heading", "cell", "swing"),
    [
        ("Movimento (ore)", "8", "8:00"), ("Swing (o'clock)", "7,5", "7:30"),
        ("Schwung (Uhr)", "10.30", "10:30"), ("Swing (clock)", "full", "full"),
        ("Swing", "8", "8"),
    ],
)  # fmt: skip
def test_bare_hours_are_clock_positions_where_the_heading_asks_for_them(
    heading: str, cell: str, swing: str
) -> None:
    read = swing_by_hours if asks_for_hours(heading) else swing_of
    assert read(cell) == swing
