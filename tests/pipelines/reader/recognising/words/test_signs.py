"""Sign conventions as pairs of sign and side; common practice, no source."""

from __future__ import annotations

from itertools import product

import pytest
from rangeledger.pipelines.reader.recognising.words.signs import positive_side, positive_sides
from rangeledger.pipelines.reader.recognising.words.statements import statements_in
from rangeledger.pipelines.reader.recognising.words.viewpoints import viewpoint

SIGNS = {1: ("+", "plus", "positive"), -1: ("-", "−", "minus", "negative")}
SIDES = {"left": ("left", "L", "links", "gauche"), "right": ("right", "R", "rechts", "droite")}
PAIRS = ("{p} {s}", "{s} {p}", "{p} = {s}", "{s}: {p}", "{s} is {p}", "{s} ({p})")
JOINS = (", ", " / ", "; ")


@pytest.mark.parametrize(("shape", "join"), [*product(PAIRS, JOINS)])
def test_both_pairs_are_read_in_every_order_and_with_every_separator(shape: str, join: str) -> None:
    for sign, side, turned in product((1, -1), SIDES, (False, True)):
        other = "right" if side == "left" else "left"
        for k in range(3):
            one = shape.format(p=SIGNS[sign][k], s=SIDES[side][k])
            two = shape.format(p=SIGNS[-sign][k], s=SIDES[other][k])
            text = "Side (" + join.join((two, one) if turned else (one, two)) + ")"
            assert positive_side(text) == (side if sign > 0 else other), text


@pytest.mark.parametrize(
    ("text", "side"),
    [
        ("Side − left, + right", "right"), ("Side - left, + right", "right"),
        ("Side L/R (+/-)", "left"), ("Offline (-L/+R)", "right"),
        ("Side, left(-) right(+)", "right"),
        ("A minus in front of a side means the ball finished to the right.", "left"),
        ("Vorzeichen der Seite: links positiv", "left"), ("Signe + : à gauche", "left"),
        ("positive (+) = right", "right"), ("right (positive) or left (negative)", "right"),
        ("Bay 4 - right side", None), ("12 - 15 May, left-handed group", None),
        ("Distance - left", None), ("Right-handed player, plus handicap", None),
        ("Side (+/-)", None),
        ("left positive, right positive", None), ("Carry + roll", None),
    ],
)  # fmt: skip
def test_a_convention_is_read_or_left(text: str, side: str | None) -> None:
    assert positive_side(text) == side


def test_open_and_closed_are_sides_of_a_hand() -> None:
    assert positive_sides("Path (in-to-out +)")[2] == "open"
    assert positive_sides("draw -, fade +")[2] == "open"


@pytest.mark.parametrize(
    ("text", "view"),
    [
        ("as seen from the target looking back to the tee", "front"),
        ("Directions as seen facing the player", "front"), ("seen from behind the ball", "behind"),
        ("aus Sicht des Spielers", "behind"), ("vu de la cible", "front"),
        ("vista desde atrás", "behind"),
        ("as seen by the drone", "unknown"), ("distance from the target line", None),
        ("positive to the left, because our camera looks at the player", None),
    ],
)  # fmt: skip
def test_a_viewpoint_is_known_by_its_words(text: str, view: str | None) -> None:
    assert viewpoint(text) == view


def test_a_sign_seen_from_the_target_is_turned() -> None:
    statements = statements_in("Side is positive to the right as seen from the target.", 3)
    assert [(s.kind, s.positive) for s in statements] == [("side", "left")]


def test_a_line_on_signs_that_nobody_understands_is_unclear() -> None:
    statements = statements_in("Side: plus means the side of the water", 3)
    assert [s.kind for s in statements] == ["unclear"]
    assert not statements_in("Session notes: wind from the left, plus a bit of rain", 3)


def test_units_are_said_of_the_columns_that_are_named() -> None:
    statements = statements_in("Carry in yards, side in feet", 1)
    assert [(s.unit, "carry_m" in s.columns) for s in statements] == [("yd", True), ("ft", False)]
    units = [s.unit for s in statements_in("Yards for carry and total, feet for apex", 1)]
    assert units == ["yd", "yd", "ft"]


@pytest.mark.parametrize(
    ("text", "side"),
    [
        ("Convention : les écarts sont comptés positivement vers la GAUCHE", "left"),
        ("Sides are counted positively to the left of the target line", "left"),
        ("Attack angle: positive = downward (hitting down)", "down"),
    ],
)
def test_a_sign_said_with_an_adverb_or_twice_is_heard(text: str, side: str) -> None:
    assert positive_side(text) == side


@pytest.mark.parametrize("who", ["the ball collector", "our camera", "the second observer"])
def test_who_stands_at_the_target_and_faces_the_player_sees_sides_turned(who: str) -> None:
    line = f"Sideways as seen by {who}, who stands at the target and faces the player: plus = right"
    statements = [s for s in statements_in(line, 1) if s.kind == "side"]
    assert [(s.positive, s.columns) for s in statements] == [("left", frozenset())]  # no club face
    assert viewpoint("seen looking at the target") == "behind"


def test_a_line_says_which_way_an_attack_angle_is_positive() -> None:
    statements = statements_in("Attack angle: positive = downward (hitting down).", 2)
    assert [(s.kind, s.positive, s.columns) for s in statements] == [
        ("height_sign", "down", {"angle_of_attack_deg"})
    ]
    assert not statements_in("Launch was going down in the second half", 2)


@pytest.mark.parametrize("left", ["goes to the left of the line", "is the left half of the field"])
@pytest.mark.parametrize(
    "shape", ["+ {a}, - {b}", "+ {a}; − {b}", "- {b}, + {a}", "(+ = {a}; - = {b})"]
)
@pytest.mark.parametrize("key", ["Side: ", "Direction and side: ", "Side in metres; "])
def test_a_sign_may_stand_far_before_its_side(key: str, shape: str, left: str) -> None:
    right = left.replace("left", "right")
    assert positive_side(key + shape.format(a=left, b=right)) == "left"
    assert positive_side(key + shape.format(a=right, b=left)) == "right"


@pytest.mark.parametrize("who", ["", "Left-handed player: ", "Plays left-handed. "])
@pytest.mark.parametrize(
    "statement",
    [
        "+ in side = push side, - = pull side", "side: pull +, push -", "side: + = draw, - = fade",
        "side and direction: minus = slice, plus = hook", "+ = the push side of the line",
        "sign of the side: + push side, LEFT for him",
    ],
)  # fmt: skip
def test_a_sign_told_by_the_hand_leaves_sides_open_or_says_the_side(
    who: str, statement: str
) -> None:
    statements = statements_in(who + statement, 3)
    assert statements
    unclear = {s.kind for s in statements} == {"unclear"}
    assert unclear or {s.positive for s in statements} == {"left"}


def test_a_left_hander_s_push_is_read_where_its_side_stands_beside_it() -> None:
    line = (
        "She plays left-handed: + of side = the push side, so LEFT of the flag for her; "
        "- = her pull side, RIGHT of the flag"
    )
    assert [(s.kind, s.positive) for s in statements_in(line, 1)] == [("side", "left")]


@pytest.mark.parametrize(
    "angle",
    [
        "at a right angle", "at right angles", "im rechten Winkel", "à angle droit",
        "ad angolo retto", "en ángulo recto", "em ângulo reto",
    ],
)  # fmt: skip
def test_a_right_angle_is_no_side(angle: str) -> None:
    assert positive_side(f"side {angle} to the line, left +") == "left"
    assert positive_side(f"side {angle} to the line, +") is None


@pytest.mark.parametrize("unit", ["r/min", "R / min", "r per min", "l/min"])
def test_a_minute_is_no_minus(unit: str) -> None:
    assert positive_sides(f"spin [{unit}]") == (None, None, None)
    assert positive_side("Zijwaarts: min is links") == "right"
