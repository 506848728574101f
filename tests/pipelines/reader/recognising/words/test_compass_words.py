"""Where shots are hit to by the compass, in words of a line, and winds told by it."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.recognising.words.compass_words import aim_in

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared, table

EAST_WIND_HIT_NORTH = (
    "Wind 10 km/h from the east; we hit towards the north",
    "Wind 10 km/h from the east (all shots were hit to the north)",
    "Wind 10 km/h from the east while we hit north",
    "Wind from east, 10 km/h. The range faces north.",
    "Wind blowing towards the west at 10 km/h; we hit due north",
    "Wind 10 km/h aus Osten, Schlagrichtung Norden",
    "Vent d'est, 10 km/h ; on tape vers le nord",
    "Viento 10 km/h del este; se tira hacia el norte",
    "Vento 10 km/h da est; si tira verso nord, dal bollettino meteo (palo di 10 m)",
    "Wind uit het oosten, 10 km/u; we slaan naar het noorden",
    "Vind 10 km/h från öster; vi slår mot norr, enligt väderrapporten (mast 10 m)",
    "Vind fra øst, 10 km/t; vi slår mod nord",
    "Vento 10 km/h de leste; batemos para norte",
)


@pytest.mark.parametrize("line", EAST_WIND_HIT_NORTH)
@pytest.mark.parametrize("below", [False, True])
def test_a_wind_by_the_compass_is_told_from_the_target_where_a_line_says_where_it_lies(
    tmp_path: Path, line: str, below: bool
) -> None:
    shots = _export_with(tmp_path, line, below=below)
    assert set(shots["wind_from_deg"]) == {90.0}
    assert shots["wind_speed_mps"].to_list() == pytest.approx([10 / 3.6] * shots.height)


def test_a_line_of_its_own_says_where_shots_are_hit_to(tmp_path: Path) -> None:
    shots = _export_with(
        tmp_path, "Wind speed: 5.2 m/s, from 250 deg\nTarget line: bearing 070 deg"
    )
    assert set(shots["wind_from_deg"]) == {180.0}


@pytest.mark.parametrize(
    "text", ["7 iron to the west green", "Target 150 m", "Hit by the north wind", "Vi slår mot NO"]
)
def test_what_says_no_aim_by_the_compass_is_none(text: str) -> None:
    """`NO` is north-east in Swedish and north-west in Spanish: nobody can tell."""
    assert aim_in(text) is None


def _export_with(folder: Path, line: str, *, below: bool = False):
    flights = launches()
    columns: dict[str, object] = {
        "Club": clubs(), "Ball speed (m/s)": flights["ball_speed_mps"],
        "Launch (deg)": flights["launch_angle_deg"], "Spin (rpm)": flights["spin_rate_rpm"],
        "Carry (m)": flights["carry_m"],
    }  # fmt: skip
    text = table(columns, delimiter="\t")  # type: ignore[arg-type]
    return prepared(folder, f"{text}\n{line}\n" if below else f"{line}\n\n{text}").shots
