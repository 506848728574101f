"""Ball and surface in words that may say both. Wordings: common practice, no source."""

from __future__ import annotations

import pytest
from rangeledger.pipelines.reader.normalising.balls import ball_and_surface
from rangeledger.pipelines.reader.normalising.words import ball_of, surface_of

RANGE_ON_MAT = {"ball": "range", "surface": "mat"}


@pytest.mark.parametrize(
    ("text", "stated"),
    [
        ("Rangebälle, Matte", RANGE_ON_MAT),
        ("gula rangebollar från matta", RANGE_ON_MAT),
        ("balles de practice sur tapis", RANGE_ON_MAT),
        ("Bolas de campo de prácticas, sobre alfombra", RANGE_ON_MAT),
        ("off the grass, with our premium balls", {"ball": "premium", "surface": "grass"}),
        ("palline da campo pratica", {"ball": "range"}),
        ("tappetino", {"surface": "mat"}),
        # A ball must be called one, a fairway is a club and a tee a place, a denial says nothing.
        ("practice", {}),
        ("range session", {}),
        ("Fairway", {}),
        ("Tee", {}),
        ("no range balls", {}),
        ("range balls or premium balls", {}),
        ("range balls for the warm-up", {}),
    ],
)
def test_words_state_a_ball_and_a_surface(text: str, stated: dict[str, str]) -> None:
    assert ball_and_surface(text) == stated


def test_a_cell_may_dress_its_ball_up() -> None:
    assert ball_of("yellow range balls") == "range"
    assert ball_of("tour quality") == "premium"
    assert ball_of("own balls") == "premium"
    assert ball_of("yellow") is None
    assert surface_of("off the rubber tee") == "tee"
