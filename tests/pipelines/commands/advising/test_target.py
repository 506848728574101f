"""`rangeledger target`."""

from __future__ import annotations

import io
import json
from pathlib import Path

import polars as pl
import pytest
from rangeledger.pipelines.holes.target_columns import TITLES
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA

COURSES = Path(__file__).parents[4] / "sample_exports" / "courses"
SHORT = str(COURSES / "alder_meadow_3.toml")
LONG = str(COURSES / "tern_point_12.geojson")


def run(home: Home, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(app, ["--home", str(home.root), "target", *words])
    return done.exit_code, done.stdout, done.stderr


def rows(home: Home, *words: str) -> list[dict[str, object]]:
    code, out, err = run(home, *words, "--player", ADA, "--format", "json")
    assert code == 0, err
    return list(json.loads(out))


def test_sentences_name_the_club_the_aim_and_the_caution(made_home: Home) -> None:
    code, out, _ = run(made_home, SHORT, "--player", "ada")
    assert code == 0
    assert out.startswith("Third, Alder Meadow: 142 yd to the flag, from the tee.")
    assert "left of the flag" in out  # water tight on the right of the flag
    assert "Landing it at the flag would cost" in out
    assert "Strokes to hole out: averages of tour professionals, after Broadie" in out


def test_rows_are_ranked_and_their_chances_add_to_one(made_home: Home) -> None:
    found = rows(made_home, SHORT, "--every-club")
    assert len(found) == 10
    scores = [row["expected_strokes"] for row in found]
    assert scores == sorted(scores)
    for row in found:
        chances = [value for name, value in row.items() if name.startswith("chance_")]
        assert sum(chances) == pytest.approx(1.0)
        assert row["carry_yd"] * 0.9144 == pytest.approx(row["carry_m"])


def test_clubs_far_behind_are_listed_only_where_asked(made_home: Home) -> None:
    found, every = rows(made_home, SHORT), rows(made_home, SHORT, "--every-club")
    assert 2 <= len(found) < len(every)
    assert [row["club"] for row in found] == [row["club"] for row in every[: len(found)]]
    assert all(row["strokes_behind"] > 0.4 for row in every[len(found) :])


def test_where_it_starts_and_what_wind_and_curve_bring_is_where_it_lands(made_home: Home) -> None:
    for words in (("--wind-speed-mps", "5", "--wind-from-deg", "90"), ()):
        for row in rows(made_home, SHORT, *words):
            brought = row["wind_brings_m"] + row["curve_brings_m"]
            assert row["start_right_m"] + brought == pytest.approx(row["land_right_m"])
            assert (row["wind_brings_m"] < -2.0) == bool(words)
            assert 20.0 < row["descent_angle_deg"] < 70.0
            assert row["as_good_from_m"] <= row["land_right_m"] + 1e-9
            assert row["land_right_m"] <= row["as_good_to_m"] + 1e-9


def test_flag_hunting_is_charged_with_the_wind_allowed_for(made_home: Home) -> None:
    # On the line to the flag lands the ball that is aimed off for the wind: the same cross wind
    # from either side may not cost a stroke.
    calm = rows(made_home, SHORT)[0]["flag_aim_cost_strokes"]
    for side in ("90", "270"):
        windy = rows(made_home, SHORT, "--wind-speed-mps", "6", "--wind-from-deg", side)[0]
        assert windy["flag_aim_cost_strokes"] < calm + 0.25


def test_a_wind_has_a_height_and_the_answer_says_which(made_home: Home) -> None:
    brought = {}
    for height in ("weather", "player", "ball"):
        words = ("--wind-speed-mps", "5", "--wind-from-deg", "90", "--wind-height", height)
        brought[height] = rows(made_home, SHORT, *words)[0]["wind_brings_m"]
    assert brought["player"] < brought["weather"] < brought["ball"] < 0.0
    _, said, _ = run(made_home, SHORT, "--player", "ada", "--wind-speed-mps", "5")
    assert "as a weather report has it (10 m up)" in " ".join(said.split())


def test_wind_moves_the_aim_and_the_club(made_home: Home) -> None:
    calm = rows(made_home, SHORT)[0]
    head = rows(made_home, SHORT, "--wind-speed-mps", "7", "--wind-from-deg", "0")[0]
    cross = rows(made_home, SHORT, "--wind-speed-mps", "5", "--wind-from-deg", "90")[0]
    names = [entry[0] for entry in (("5-iron",), ("7-iron",), ("9-iron",))]
    assert names.index(str(head["club"])) < names.index(str(calm["club"]))
    assert cross["aim_right_of_flag_m"] > calm["aim_right_of_flag_m"] + 3.0


def test_thin_air_carries_farther(made_home: Home) -> None:
    def carry(*words: str) -> float:
        found = {
            row["club"]: row["carry_m"] for row in rows(made_home, SHORT, "--every-club", *words)
        }
        return float(found["7-iron"])

    assert carry("--altitude-m", "1500") > carry() + 6.0
    assert carry("--air-temp-c", "5") < carry() - 3.0


def test_hazards_tell_the_carry_to_clear_them(made_home: Home) -> None:
    found = rows(made_home, SHORT, "--rows", "hazards")
    bunker = next(row for row in found if row["hazard"] == "front bunker")
    assert 125.0 < bunker["carry_to_clear_yd"] < 127.0
    by_club = {
        row["club"]: row["chance_to_clear"] for row in found if row["hazard"] == "front bunker"
    }
    assert by_club["7-iron"] > by_club["9-iron"]


def test_the_fairway_by_aim(made_home: Home) -> None:
    found = rows(made_home, str(COURSES / "quillmarsh_7.toml"), "--rows", "fairway")
    assert len(found) == 25
    best = max(row["chance_fairway"] for row in found)
    assert 0.3 < best < 1.0
    # The made players have one curve with its scatter.
    assert {row["hits_now"] for row in found} == {"one shape"}
    assert all(row["one_shape_chance_fairway"] == row["chance_fairway"] for row in found)


def test_a_hole_without_fairway_has_none_to_aim_at(made_home: Home) -> None:
    assert rows(made_home, SHORT, "--rows", "fairway") == []
    _, out, _ = run(made_home, SHORT, "--player", ADA, "--rows", "fairway")
    assert out.endswith("There is no fairway to aim at.\n")


def test_which_of_the_shapes_is_hit_now_is_said(made_home: Home) -> None:
    hole = str(COURSES / "quillmarsh_7.toml")
    code, out, _ = run(made_home, hole, "--player", ADA, "--rows", "fairway")
    assert code == 0
    assert "'one shape' is how it is hit now" in out


def test_going_and_laying_up_at_each_distance(made_home: Home) -> None:
    found = rows(made_home, LONG, "--rows", "lay-up")
    left = [round(row["distance_left_yd"]) for row in found]
    assert left[0] == 140
    assert set(left) <= set(range(140, 500, 20))
    assert found[0]["verdict"] == "go"
    assert found[-1]["verdict"] != "go"
    assert all(row["lay_up_leaves_yd"] > 5.0 for row in found)


def test_the_asked_distance_is_among_the_lay_ups(made_home: Home) -> None:
    words = ("--rows", "lay-up", "--distance-left-yd", "187", "--lie", "rough")
    found = rows(made_home, LONG, *words)
    left = [round(row["distance_left_yd"]) for row in found]
    assert left == sorted(left)
    (asked,) = [row for row in found if round(row["distance_left_yd"]) == 187]
    assert asked["lie"] == "rough"
    assert {row["lie"] for row in found if row is not asked} == {"fairway"}
    same = rows(made_home, LONG, "--rows", "lay-up", "--distance-left-yd", "180")
    assert [round(row["distance_left_yd"]) for row in same].count(180) == 1


def test_the_ball_can_be_moved_along_the_line_of_play(made_home: Home) -> None:
    code, out, _ = run(made_home, LONG, "--player", ADA, "--distance-left-yd", "120")
    assert code == 0
    assert "120 yd to the flag, from the fairway" in out


@pytest.mark.parametrize("form", ["csv", "parquet"])
def test_rows_for_programs(made_home: Home, form: str) -> None:
    words = ["--home", str(made_home.root), "target", SHORT, "--player", ADA, "--format", form]
    done = CliRunner().invoke(app, words)
    read = pl.read_csv if form == "csv" else pl.read_parquet
    frame = read(io.BytesIO(done.stdout_bytes))
    assert frame.height >= 2
    assert {"club", "expected_strokes", "aim_right_of_flag_yd"} <= set(frame.columns)


def test_an_own_table_of_strokes(made_home: Home, tmp_path: Path) -> None:
    table = tmp_path / "mine.csv"
    lies = ("fairway", "rough", "sand", "green")
    lines = [f"{lie},{d},{1.5 + d / 60}" for lie in lies for d in (0, 300)]
    table.write_text("lie,distance_yd,strokes\n" + "\n".join(lines))
    code, out, err = run(made_home, SHORT, "--player", ADA, "--strokes", str(table))
    assert code == 0, err
    assert "Strokes to hole out: mine.csv." in out


def test_strokes_from_the_players_own_clubs(made_home: Home) -> None:
    code, out, err = run(made_home, SHORT, "--player", ADA, "--own-strokes")
    assert code == 0, err
    assert "Strokes to hole out: the player's own clubs on a plain hole" in out
    assert "putts and short game simulated for a handicap of about" in out


def test_a_handicap_in_the_settings_is_that_of_putts_and_short_game(made_home: Home) -> None:
    file = made_home.settings_file
    before = file.read_text() if file.exists() else None
    file.write_text(f'[players."{ADA}"]\nhandicap = 21\n')
    try:
        _, out, _ = run(made_home, SHORT, "--player", "ada", "--own-strokes")
    finally:
        file.unlink() if before is None else file.write_text(before)
    assert "simulated for a handicap of about 21." in out


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["nowhere.toml", "--player", ADA], "there is no such file"),
        ([SHORT], "Which player? Add --player"),
        ([SHORT, "--player", "Nobody"], "There is no player 'Nobody'"),
        ([SHORT, "--player", ADA, "--ball", "range"], "no club model with the ball 'range'"),
        ([SHORT, "--player", ADA, "--lie", "moon"], "the lie is 'moon'"),
        ([SHORT, "--player", ADA, "--distance-left-yd", "9999"], "has no spot 9999 yd from"),
    ],
)
def test_faults_are_one_sentence_and_exit_two(
    made_home: Home, words: list[str], sentence: str
) -> None:
    code, out, err = run(made_home, *words)
    assert (code, out) == (2, "")
    assert sentence in err
    assert "Traceback" not in err


def test_a_home_without_a_database_is_told(home: Home) -> None:
    code, _, err = run(home, SHORT, "--player", ADA)
    assert code == 2
    assert "Run 'rangeledger ingest'" in err


def test_a_folder_in_place_of_a_file_is_said(made_home: Home) -> None:
    code, _, err = run(made_home, str(COURSES), "--player", "ada")
    assert code == 2
    assert "it is a folder" in err
    code, _, err = run(made_home, SHORT, "--player", "ada", "--strokes", str(COURSES))
    assert code == 2
    assert "it is a folder" in err


@pytest.mark.parametrize("kind", ["options", "hazards", "fairway", "lay-up"])
def test_tables_can_be_read_in_100_characters(made_home: Home, kind: str) -> None:
    hole = SHORT if kind == "hazards" else LONG
    code, out, err = run(made_home, hole, "--player", ADA, "--rows", kind)
    assert code == 0, err
    table = out[out.index(TITLES[kind]) :].splitlines()
    assert len(table) > 5
    assert max(map(len, table)) <= 100


def test_finishes_that_never_happen_are_not_listed(made_home: Home) -> None:
    _, out, _ = run(made_home, SHORT, "--player", ADA)
    heading = out[out.index("Clubs and swings, best first") : out.index("──")]
    assert {"green", "water", "rough"} <= set(heading.split())
    assert "out" not in heading.split()


def test_a_hole_without_a_lay_up_says_so(made_home: Home) -> None:
    _, out, _ = run(made_home, SHORT, "--player", ADA, "--rows", "lay-up")
    assert out.endswith("The hole is too short for a lay-up.\n")
