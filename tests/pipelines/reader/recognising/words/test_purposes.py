"""What titles say that the rows below them are."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.reader.recognising.words.purposes import purpose_of
from rangeledger.schemas.errors import ExportError
from rangeledger.schemas.reasons import FileReason
from rangeledger.schemas.vocabulary import LANGUAGES
from rangeledger.schemas.words import cell_words

from tests.pipelines.reader.recognising.lines.test_lines_and_refusals import HEAD, SHOTS, read

MEANS = ["54 wedge,56.1,29.2,5500,55.1", "58 wedge,66.0,28.2,6100,72.2", "SW,75.3,28.1,6800,88.7"]


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Averages per club", "averages"), ("Average of 10 shots per club", "averages"),
        ("Mittelwerte je Schläger", "averages"), ("Stock yardages", "chart"),
        ("Tabla de distancias", "chart"), ("Goals for 2026", "goals"), ("Trainingsplan", "plan"),
        ("Simulated shots", "simulated"), ("Content: percentiles", "percentiles"),
    ],
)  # fmt: skip
def test_a_title_says_what_its_rows_are(title: str, name: str) -> None:
    purpose = purpose_of(title)
    assert purpose is not None
    assert purpose.name == name


@pytest.mark.parametrize(
    "title",
    [
        "Shots and averages", "Session goal: tempo", "Practice plan: 30 balls", "Wedge practice",
        "Single shots", "Simulator session", "Summer session",
    ],
)  # fmt: skip
def test_a_title_that_speaks_of_shots_or_wishes_says_nothing_of_rows(title: str) -> None:
    assert purpose_of(title) is None


@pytest.mark.parametrize("title", ["Averages per club", "Stock yardages", "Ziele 2026", "Plan"])
@pytest.mark.parametrize("where", ["above", "file", "comment"])
def test_named_rows_under_such_a_title_are_refused(tmp_path: Path, title: str, where: str) -> None:
    lines = {"above": [title, ""], "comment": [f"# {title}"]}.get(where, [])
    path = tmp_path / (f"{title}.csv" if where == "file" else "visit.csv")
    path.write_text("\n".join([*lines, HEAD, *MEANS]) + "\n", encoding="utf-8")
    with pytest.raises(ExportError) as refused:
        prepare_export(path)
    assert refused.value.code in (FileReason.AVERAGES_ONLY, FileReason.NO_SHOTS)


def test_means_of_swings_whose_club_a_note_states_are_refused(tmp_path: Path) -> None:
    head = "Swing,Ball speed (mph),Launch angle (deg),Spin (rpm),Carry (yd)"
    rows = ["7:30,56.1,29.2,5500,55.1", "9:00,66.0,28.2,6100,72.2", "full,82.2,27.0,7700,101.1"]
    (tmp_path / "visit.toml").write_text('club = "54-wedge"\n', encoding="utf-8")
    with pytest.raises(ExportError) as refused:
        read(tmp_path, ["Averages", "", head, *rows])
    assert refused.value.code == "averages-only"


@pytest.mark.parametrize("title", ["Practice plan", "Session summary", "Our yardages and averages"])
def test_shots_of_one_club_stay_shots_where_a_title_leaves_a_doubt(
    tmp_path: Path, title: str
) -> None:
    assert read(tmp_path, [title, "", HEAD, *SHOTS]).shots.height == 4


def test_means_below_shots_are_set_aside(tmp_path: Path) -> None:
    export = read(tmp_path, [HEAD, *SHOTS, "", "Averages per club", "", HEAD, *MEANS])
    assert export.shots.height == 4
    assert export.rejected.height == 0


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_kind_of_word_for_lines(language: str) -> None:
    kinds = cell_words(language).by_kind
    english = cell_words("en").by_kind
    lines = ("visits", "other_days", "staff", "by_person", "purposes", "fillers_said", "gusts",
             "roughly", "at_sea_level", "clocks", "feels", "weather", "said_calm", "ball_words",
             "noon", "lessons", "person_details", "shots_said", "wind_words", "places", "denials",
             "not_struck", "some_of_them", "mail_subjects", "not_counted", "before_clock",
             "unbracketed", "compass", "compass_words", "bearings")  # fmt: skip
    assert [kind for kind in lines if not kinds.get(kind)] == []
    assert set(kinds["purposes"].values()) == set(english["purposes"].values())
    assert set(kinds["by_person"].values()) == {"of", "by", "with"}


@pytest.mark.parametrize(
    ("title", "none_struck"),
    [
        ("Demo mode, no ball struck", True),
        ("What a player would carry (computed by simulation; no ball was hit)", True),
        ("Demomodus: es wurde kein Ball geschlagen", True),
        ("hit = a ball was struck; sim = nobody hit a ball", False),
        ("Rows marked x: no ball was hit", False),
        ("Shot 7: no ball struck", False),
        ("Demo day, everybody welcome", False),
    ],
)
def test_a_title_may_say_in_any_words_that_nobody_struck_a_ball(
    title: str, none_struck: bool
) -> None:
    purpose = purpose_of(title)
    assert (purpose is not None and purpose.whole) is none_struck
