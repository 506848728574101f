"""What stands in cells to the right of the shots speaks for all of them."""

from __future__ import annotations

from pathlib import Path

from tests.pipelines.reader.recognising.writing import clubs, launches, prepared


def _beside(asides: list[str], *, heading: str = "") -> str:
    flights = launches()
    lines = [f"Club,Ball speed (m/s),Launch (deg),Spin (rpm),Carry (m),Side (m),,{heading}"]
    for k, club in enumerate(clubs()):
        numbers = [
            f"{flights[name][k]:.2f}"
            for name in (
                "ball_speed_mps", "launch_angle_deg", "spin_rate_rpm", "carry_m", "carry_side_m",
            )
        ]  # fmt: skip
        lines.append(",".join([club, *numbers, "", asides[k] if k < len(asides) else ""]))
    return "\n".join(lines) + "\n"


def test_player_day_and_wind_beside_the_first_shots_are_of_all(tmp_path: Path) -> None:
    asides = ["Player: Ann Breck", "Date: 2026-05-02", "Wind: 3 m/s from the right"]
    shots = prepared(tmp_path, _beside(asides)).shots
    assert set(shots["player"]) == {"Ann Breck"}
    assert set(shots["struck_at"].dt.date().cast(str)) == {"2026-05-02"}
    assert set(shots["wind_from_deg"]) == {90.0}


def test_a_legend_beside_the_shots_turns_their_sides(tmp_path: Path) -> None:
    text = _beside(["Side: + is left; - is right"], heading="Legend")
    side = launches()["carry_side_m"]
    export = prepared(tmp_path, text)
    assert export.shots["carry_side_m"].to_list() == [-round(x, 2) + 0.0 for x in side.tolist()]


def test_remarks_beside_single_shots_speak_of_no_other(tmp_path: Path) -> None:
    remarks = ["felt good", "", "thin", "", "", "low hook"]
    export = prepared(tmp_path, _beside(remarks))
    assert set(export.shots["player"]) == {"unknown"}
    assert export.shots.height == len(clubs())


def test_a_sign_beside_the_shots_that_is_not_understood_leaves_their_side_out(
    tmp_path: Path,
) -> None:
    asides = ["Player: Ann Breck", "Sides: plus is where the barn stands"]
    export = prepared(tmp_path, _beside(asides))
    assert export.shots["carry_side_m"].null_count() == export.shots.height
    assert any("which way is positive" in str(remark) for remark in export.remarks)


def test_a_word_for_ball_or_swing_beside_one_shot_is_none_of_all(tmp_path: Path) -> None:
    remarks = ["", "", "range ball", "", "half swing", "", "off the mat"]
    shots = prepared(tmp_path, _beside(remarks)).shots
    assert set(shots["ball"]) == set(shots["surface"]) == {"unknown"}
    assert set(shots["swing"]) == {"full"}


def test_what_is_taken_from_beside_the_shots_is_told(tmp_path: Path) -> None:
    export = prepared(tmp_path, _beside(["Player: Ann Breck", "Altitude: 650 m"]))
    assert any("beside" in str(remark) and "Ann Breck" in str(remark) for remark in export.remarks)
