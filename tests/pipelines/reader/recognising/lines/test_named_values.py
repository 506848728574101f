"""Lines that name each of their values are read as a table."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.reader.recognising.writing import launches, prepared


def _shots(count: int = 12) -> list[dict[str, str]]:
    flights = launches(count)
    return [
        {
            "club": "7i" if k < count // 2 else "driver",
            "v": f"{flights['ball_speed_mps'][k]:.2f}",
            "el": f"{flights['launch_angle_deg'][k]:.1f}",
            "carry": f"{flights['carry_m'][k]:.1f}",
        }
        for k in range(count)
    ]


_LEGEND = "# v = ball speed in m/s, el = launch angle in degrees, carry = carry in m\n"


def test_names_with_values_are_headings_explained_by_a_comment(tmp_path: Path) -> None:
    lines = [" ".join(f"{k}={v}" for k, v in shot.items()) for shot in _shots()]
    export = prepared(tmp_path, _LEGEND + "\n".join(lines) + "\n", name="log.txt")
    flights = launches(12)
    assert export.shots["source_row"].to_list() == list(range(2, 14))
    assert export.shots["ball_speed_mps"].to_list() == pytest.approx(
        flights["ball_speed_mps"].round(2).tolist()
    )
    assert export.shots["carry_m"].to_list() == pytest.approx(flights["carry_m"].round(1).tolist())


def test_a_log_tells_its_times_and_other_messages_stay_other_lines(tmp_path: Path) -> None:
    lines = [
        f"[2026-05-02 18:{k:02d}:11.243] INFO shot club={s['club']} ball_speed={s['v']}m/s "
        f"launch={s['el']}deg carry={s['carry']}m"
        for k, s in enumerate(_shots())
    ]
    lines.insert(4, "[2026-05-02 18:04:30.000] WARN frame dropped")
    export = prepared(tmp_path, "\n".join(lines) + "\n", name="log.txt")
    assert export.shots.height == 12
    assert export.shots["struck_at"].null_count() == 0
    assert export.other_lines["source_row"].to_list() == [5]


def test_a_table_with_signs_of_equality_in_remarks_stays_one(tmp_path: Path) -> None:
    lines = [
        f"{s['club']},{s['v']},{s['el']},{s['carry']},feel=7 tempo=3 mood=good" for s in _shots()
    ]
    text = "club,ball speed (m/s),launch (deg),carry (m),remarks\n" + "\n".join(lines) + "\n"
    export = prepared(tmp_path, text)
    assert export.shots.height == 12
    assert export.shots["carry_m"].null_count() == 0
