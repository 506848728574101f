"""`rangeledger simulate` and `rangeledger export`: the models out, and back in."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import polars as pl
import pytest
from rangeledger.pipelines.main import app
from rangeledger.schemas.columns import BY_NAME
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.made_home import ADA, BAG, HOSTILE
from tests.two_samples import energy_test

SCHEMA = Path(__file__).parents[4] / "schemas" / "simulator_feed.schema.json"


def run(home: Home, *words: str) -> str:
    done = CliRunner().invoke(app, ["--home", str(home.root), *words])
    assert done.exit_code == 0, done.stderr
    return done.stdout


def drawn(home: Home, *words: str) -> pl.DataFrame:
    text = run(home, "simulate", "--player", ADA, "--format", "csv", *words)
    return pl.read_csv(io.StringIO(text))


def test_rows_have_canonical_columns(made_home: Home) -> None:
    shots = drawn(made_home, "--shots", "5")
    assert shots.height == 5 * len(BAG)
    known = {*BY_NAME, "still_carry_m", "still_side_m", "strike"}
    assert set(shots.columns) <= known
    assert shots.null_count().to_series().sum() == 0


def test_a_clubs_shots_do_not_depend_on_the_others(made_home: Home) -> None:
    alone = drawn(made_home, "--club", "7-iron", "--shots", "20")
    among = drawn(made_home, "--shots", "20").filter(pl.col("club") == "7-iron")
    assert alone.equals(among)


def test_a_table_for_people(made_home: Home) -> None:
    text = run(made_home, "simulate", "--player", ADA, "--club", "driver", "--shots", "50")
    assert f"Shots that {ADA} might hit" in text
    assert "and 10 more" in text


def test_seed_and_wind(made_home: Home) -> None:
    words = ("--club", "7-iron", "--shots", "50")
    calm = drawn(made_home, *words)
    windy = drawn(made_home, *words, "--wind-speed-mps", "6")
    other = drawn(made_home, *words, "--seed", "2")
    assert windy["still_carry_m"].equals(calm["still_carry_m"])
    assert windy["carry_m"].mean() < 0.9 * calm["carry_m"].mean()
    assert not other["carry_m"].equals(calm["carry_m"])


def test_landings_keep_the_players_dispersion(made_home: Home) -> None:
    # The invented player's 7-iron: centre 141 m, spread 4 % along and 5 % across.
    shots = drawn(made_home, "--club", "7-iron", "--shots", "4000", "--fitted")
    clean = shots.filter(pl.col("strike") == "clean")
    assert clean["carry_m"].mean() == pytest.approx(141.0, abs=4.0)
    assert clean["carry_m"].std() == pytest.approx(0.04 * 141.0, rel=0.35)
    assert clean["carry_side_m"].std() == pytest.approx(0.05 * 141.0, rel=0.35)


def test_the_feed_follows_its_schema(made_home: Home) -> None:
    feed = json.loads(run(made_home, "export"))
    jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text())).validate(feed)
    assert [entry["player"] for entry in feed["players"]] == sorted([ADA, HOSTILE])
    assert len(feed["players"][0]["clubs"]) == len(BAG)


def test_a_feed_gives_the_same_shots_as_the_home(made_home: Home, tmp_path: Path) -> None:
    feed = tmp_path / "feed.json"
    feed.write_text(run(made_home, "export"), encoding="utf-8")
    words = ("--club", "driver", "--shots", "30")
    assert drawn(made_home, *words).equals(drawn(made_home, *words, "--feed", str(feed)))


def test_a_feed_is_asked_as_the_home_is(made_home: Home, tmp_path: Path) -> None:
    feed = json.loads(run(made_home, "export"))
    for entry in feed["players"]:
        entry["clubs"] += [{**club, "ball": "range", "shots": 3} for club in entry["clubs"]]
    path = tmp_path / "feed.json"
    path.write_text(json.dumps(feed), encoding="utf-8")
    begun = ("simulate", "--player", ADA[:3].lower(), "--shots", "4", "--format", "json")
    assert run(made_home, *begun, "--feed", str(path)) == run(made_home, *begun)
    other = json.loads(run(made_home, *begun, "--feed", str(path), "--ball", "range"))
    assert {shot["ball"] for shot in other} == {"range"}


def test_rows_of_models(made_home: Home) -> None:
    done = CliRunner().invoke(
        app, ["--home", str(made_home.root), "export", "--player", ADA, "--format", "parquet"]
    )
    rows = pl.read_parquet(io.BytesIO(done.stdout_bytes))
    assert rows.height == len(BAG)
    assert rows.select("club", "swing", "ball").n_unique() == rows.height
    assert "covariance_spin_axis_deg_spin_axis_deg" in rows.columns


def test_a_simulated_session_passes_for_the_players_own(made_home: Home) -> None:
    own = pl.read_json(
        io.StringIO(
            run(
                made_home, "sql", "--format", "json",
                f"SELECT still_carry_m, still_side_m FROM shots WHERE player = '{ADA}' "
                "AND club = '9-iron'",
            )
        )
    )  # fmt: skip
    shots = drawn(made_home, "--club", "9-iron", "--shots", "400")
    landings = shots.select("still_carry_m", "still_side_m").to_numpy()
    assert energy_test(own.to_numpy(), landings).p_value > 0.01


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["simulate", "--player", ADA, "--club", "mashie"], "There is no such club and swing"),
        (["simulate", "--player", ADA, "--feed", "none.json"], "there is no such file"),
        (["export", "--player", "Nobody"], "There is no player"),
    ],
)
def test_faults_are_one_sentence(made_home: Home, words: list[str], sentence: str) -> None:
    done = CliRunner().invoke(app, ["--home", str(made_home.root), *words])
    assert done.exit_code == 2
    assert sentence in done.stderr


@pytest.mark.parametrize(
    "spoil",
    [
        lambda feed: feed.pop("players"),
        lambda feed: feed["players"][1].pop("clubs"),
        lambda feed: feed["players"][1]["clubs"][0].update(launch=3),
        lambda feed: feed["players"][1]["clubs"][0]["landing"].update(carry_m="far"),
    ],
)
def test_a_spoiled_feed_is_told(
    made_home: Home, tmp_path: Path, spoil: Callable[[dict[str, Any]], object]
) -> None:
    feed = json.loads(run(made_home, "export"))
    spoil(feed)
    (tmp_path / "feed.json").write_text(json.dumps(feed))
    words = ["simulate", "--player", "ada", "--feed", str(tmp_path / "feed.json")]
    answer = CliRunner().invoke(app, words)
    assert answer.exit_code == 2
    assert "Export the models anew" in answer.stderr


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--player", "Nobody"], "There is no player 'Nobody'"),
        ([], "Which player? Add --player"),
        (["--player", ADA, "--ball", "feathery"], "has no club with the ball 'feathery'"),
    ],
)
def test_a_feed_says_what_it_does_not_have(
    made_home: Home, tmp_path: Path, words: list[str], sentence: str
) -> None:
    feed = tmp_path / "feed.json"
    feed.write_text(run(made_home, "export"), encoding="utf-8")
    done = CliRunner().invoke(app, ["simulate", "--feed", str(feed), *words])
    assert done.exit_code == 2
    assert sentence in done.stderr
