"""A hole typed on the form: drawn, saved as our file, answered as the command answers."""

from __future__ import annotations

import re
import tomllib

import pytest
from rangeledger.pipelines.holes.course_file import read_hole
from rangeledger.pipelines.pages_server.holes.hole_form import (
    FIRST,
    fields_of,
    hole_text,
    hole_tree,
)
from rangeledger.schemas.units import YARD_M
from starlette.testclient import TestClient

from tests.made_home import ADA
from tests.pipelines.pages_server.browsing import OWN
from tests.warehouse.pages.pages_of import Page

TYPED = FIRST | {
    "name": 'Long "one"', "flag": "401.5", "flag_side": "-12", "rise": "-4",
    "bunker2_front": "230", "bunker2_back": "245", "bunker2_left": "14", "bunker2_right": "26",
    "trees1_front": "150", "trees1_back": "300", "trees1_left": "-60", "trees1_right": "-35",
    "trees1_high": "20", "out_right": "55",
}  # fmt: skip


def test_what_is_typed_is_the_hole_that_the_file_gives_again(tmp_path) -> None:
    tree = hole_tree(TYPED, "yd")
    file = tmp_path / "long.toml"
    file.write_text(hole_text(tree))
    assert tomllib.loads(file.read_text()) == tree
    hole = read_hole(file)
    assert hole.flag == pytest.approx((401.5 * YARD_M, -12 * YARD_M))
    assert {area.ground.word for area in hole.areas} == {
        "green", "fairway", "bunker", "trees", "out_of_bounds"
    }  # fmt: skip
    shown = fields_of(file, "yd")
    assert shown is not None
    assert hole_tree(shown, "yd") == tree
    assert fields_of(file, "m") is None


def test_a_shape_beyond_the_form_is_used_as_it_is(inside: TestClient) -> None:
    from rangeledger.sample_exports import sample_files

    courses = next(sample_files().__iter__()).parent / "courses"
    holes = inside.app.state.site.home.root / "holes"
    holes.mkdir(exist_ok=True)
    for course in courses.iterdir():
        (holes / course.name).write_bytes(course.read_bytes())
        page = inside.get("/hole", params={"file": course.name}).text
        assert "beyond this form" in page
        assert "<svg" in page


@pytest.mark.parametrize(
    ("field", "value", "told"),
    [("flag", "far", "not a number"), ("flag", "9000", "from the ball"), ("par", "9", "par"),
     ("bunker1_front", "200", "edge is missing")],
)  # fmt: skip
def test_what_cannot_be_is_told_beside_the_form(
    inside: TestClient, field: str, value: str, told: str
) -> None:
    page = inside.get("/hole", params=FIRST | {field: value}).text
    assert told in page
    assert f'value="{value}"' in page or field == "par"
    drawn = inside.get("/hole/drawing", params=FIRST | {field: value})
    assert told in drawn.text


def test_a_saved_hole_is_kept_and_comes_back(inside: TestClient) -> None:
    answer = inside.post("/hole", data={**TYPED, "unit": "yd"}, headers=OWN)
    assert answer.status_code == 303
    page = inside.get(answer.headers["location"]).text
    assert "Saved as holes/" in page
    assert "{" not in Page(page).text
    assert 'value="401.5"' in page


def test_the_strokes_of_the_player_can_be_asked_for(inside: TestClient) -> None:
    asked = FIRST | {"player": ADA}
    told = {
        whose: inside.get("/hole.json", params=asked | {"strokes": whose}).json()
        for whose in ("tour", "own")
    }
    assert "averages of tour professionals" in told["tour"]["sentences"][-1]
    assert "the player's own clubs on a plain hole" in told["own"]["sentences"][-1]
    tour, own = (told[whose]["tables"]["options"][0]["expected_strokes"] for whose in told)
    assert own > tour


@pytest.mark.slow
def test_the_answer_is_the_command_s(inside: TestClient, tmp_path) -> None:
    import json

    from rangeledger.pipelines.main import app
    from typer.testing import CliRunner

    home = inside.app.state.site.home
    file = tmp_path / "hole.toml"
    file.write_text(hole_text(hole_tree(FIRST, "yd")))
    words = ["--home", str(home.root), "target", str(file), "--player", ADA, "--format", "json",
             "--wind-speed-mps", "4.4704", "--wind-from-deg", "60"]  # fmt: skip
    told = CliRunner().invoke(app, words)
    assert told.exit_code == 0, told.output
    asked = FIRST | {"player": ADA, "wind": "10", "from": "2"}
    rows = inside.get("/hole.json", params=asked).json()["tables"]["options"]
    there = json.loads(told.stdout)
    assert [row["club"] for row in rows] == [row["club"] for row in there]
    for one, other in zip(rows, there, strict=True):
        assert one["expected_strokes"] == pytest.approx(other["expected_strokes"], abs=1e-4)


def test_headings_and_what_explains_them_begin_with_a_capital(inside: TestClient) -> None:
    """As on all pages; the terminal's own tables write them small."""
    page = inside.get("/hole", params={"player": ADA}).text
    headings = re.findall(r"<th scope=\"col\"[^>]*>(.*?)</th>", page)
    assert headings[:2] == ["Club", "Strokes"]
    assert all(heading == heading[:1].upper() + heading[1:] for heading in headings)
    assert "Behind: strokes behind the best" in page
    assert "Land, start: where the usual shot lands" in page
