"""What lines beside a table state of units and signs, of which columns, and where."""

from __future__ import annotations

import re

from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.pipelines.reader.recognising.words.signs import (
    OPPOSITE,
    defines_a_sign,
    is_sign_word,
    lone_sign_and_side,
    one_sign_two_sides,
    partly_stated,
    points_along_an_axis,
    positive_sides,
    sign_beside_side,
    speaks_of_sides,
)
from rangeledger.pipelines.reader.recognising.words.unit_statements import (
    DEFINES,
    Statement,
    clauses_of,
    conjoined_in,
    on_units,
    partly_stated_units,
    tags_of,
    tags_of_any,
)
from rangeledger.pipelines.reader.recognising.words.viewpoints import FRONT, viewpoint, without_view
from rangeledger.schemas.compositions import SIDED
from rangeledger.schemas.remembering import remembered
from rangeledger.schemas.words import fold, words_of

# Kinds of quantity that a line on units can speak of, by tag.
ON_SIGNS = ("side", "unclear", "height_sign")
_NEAR = 6  # words
_DASH = re.compile(r"(?<=\w\w)\s+[-–—]\s+(?=\w\w)")  # between words it is no minus
# Which sided columns a clause on signs names, by a tag of its words.
_NAMED = {
    "side": ("carry_side_m", "total_side_m"), "off": ("carry_side_m", "total_side_m"),
    "axis": ("spin_axis_deg", "side_spin_rpm"), "spin": ("spin_axis_deg", "side_spin_rpm"),
    "launch": ("launch_direction_deg",), "direction": (),
    "path": ("club_path_deg",), "face": ("face_angle_deg",), "curve": ("spin_axis_deg",),
}  # fmt: skip
_OF_A_STRAIGHT = frozenset({"line", "distance", "landing"})  # beside it, which may be a shot
_WINDS = frozenset({"wind", "head_wind", "tail_wind"})
_SPECIFIC = ("axis", "path", "face", "spin")


def statements_in(text: str, line: int) -> list[Statement]:
    """Units and positive sides that a line states.

    Parameters
    ----------
    text : str
        `Distances in yards, heights in feet`, `Directions: left positive`.
    line : int
        Line in the file.

    Returns
    -------
    list of Statement
        One a clause that names a unit or a sign; of kind `unclear` where a line speaks of signs
        or of the view and can't be understood.
    """
    return list(_statements_in(text, line))


@remembered
def _statements_in(text: str, line: int) -> tuple[Statement, ...]:
    units = on_units(text, line)
    known_units = {statement.unit for statement in units}
    units += [s for s in partly_stated_units(text, line) if s.unit not in known_units]
    return (*_on_signs(text, line), *_on_heights(text, line), *_on_straight(text, line), *units)


def _on_heights(text: str, line: int) -> list[Statement]:
    """Which way an attack angle is positive: `Attack angle: positive = downward`."""
    found = []
    for clause in re.split(r"[.;]\s+", text):
        positive = positive_sides(clause, near=True)[1]
        if positive and "attack" in tags_of_any(clause):
            columns = frozenset({"angle_of_attack_deg"})
            found.append(Statement("height_sign", None, positive, line, clause.strip(), columns))
    return found


def _on_straight(text: str, line: int) -> list[Statement]:
    """Which distance is one straight to the point: `Carry is the straight line to the landing`."""
    words = fold(text).split()
    denied = next((k for k, word in enumerate(words) if word in words_of("denials")), len(words))
    said = " ".join(words[:denied])
    tags = tags_of_any(said) | tags_of(words_in(said))
    if "straight" not in tags or not tags & _OF_A_STRAIGHT or DEFINES.match(text):
        return []
    named = frozenset(f"{tag}_m" for tag in ("carry", "total") if tag in tags)
    return [Statement("straight", None, None, line, text.strip(), named)] if named else []


def _on_signs(text: str, line: int) -> list[Statement]:
    if tags_of_any(text) & _WINDS:  # whose sides are no signs
        text = "; ".join(p for p in re.split(r"[.;|]\s+", text) if not tags_of_any(p) & _WINDS)
    if not re.search("[+=±]", text):  # `Training auf der Range - Tamsin Orrelle`
        text = _DASH.sub(", ", text)
    near = not _is_on_sides(text)
    view = viewpoint(text)
    twice = _for_the_player(text) if view else None
    if twice is not None:
        named = _columns_of(without_view(text))
        return [Statement("side", None, twice, line, text.strip(), named)]
    found = []
    for clause in [text] if positive_sides(text, near)[0] else _sign_clauses(text, near):
        positive = positive_sides(clause, near)[0]
        if positive is None and _sides_named(clause, every=True):
            positive = lone_sign_and_side(clause)
        if positive and view != "unknown":
            seen = OPPOSITE[positive] if view == FRONT else positive
            named = _columns_of(without_view(clause) if view else clause)
            found.append(Statement("side", None, seen, line, clause.strip(), named))
        elif positive or _may_be_on_signs(clause):
            found.append(
                Statement("unclear", None, None, line, clause.strip(), _columns_of(clause))
            )
    if not found and view == FRONT and _is_on_sides(text):
        found.append(Statement("unclear", None, None, line, text.strip()))
    # Of bare numbers, which it has turned.
    side_stated = any(statement.kind == "side" for statement in found)
    sided = _is_on_sides(text) or any(is_sign_word(w) for w in words_in(text))
    if view in (FRONT, "unknown") and not side_stated and sided:
        found.append(Statement("view", None, view, line, text.strip()))
    return found


def _sign_clauses(text: str, near: bool) -> list[str]:
    """Clauses of a line on signs; at commas too where each names a column and its own sign."""
    parts = re.split(r"[.;,]\s+", text)
    named = [bool(_sides_named(part)) for part in parts if positive_sides(part, near)[0]]
    return parts if len(named) > 1 and all(named) else re.split(r"[.;]\s+", text)


def _for_the_player(text: str) -> str | None:
    """The positive side for the player, of a text that tells it for somebody else as well."""
    pole_and_sides = one_sign_two_sides(text)
    if pole_and_sides is None:
        return None
    pole, sides = pole_and_sides
    own = [s for s, behind in sides if "player" in tags_of_any(" ".join(behind.split()[:_NEAR]))]
    return None if len(own) != 1 else own[0] if pole > 0 else OPPOSITE[own[0]]


def _columns_of(text: str) -> frozenset[str]:
    """Sided columns that a text on signs names, in its clause on signs where there is one."""
    if points_along_an_axis(text):
        return frozenset()
    named: list[frozenset[str]] = []
    last = ""
    waiting: list[str] = []  # `Direction and side: minus is left`: names before share the sign
    for clause in clauses_of(text):
        if not positive_sides(clause)[0]:
            waiting += [clause] if _sides_named(clause, every=True) else []
            continue
        parts = [_sides_named(part) for part in (*waiting, clause)]
        named.append(frozenset().union(*parts) if all(parts) else frozenset())
        if waiting and not all(parts):
            return frozenset()
        waiting = []
        last = clause
    behind = [w for w in waiting if conjoined_in(text, last, w)] if named else []
    if behind:  # `left is plus for side spin and offline`
        named[-1] |= frozenset().union(*map(_sides_named, behind))
    return named[0] if named and all(named) else _sides_named(text)


def _is_on_sides(text: str) -> bool:
    sign_words = words_of("sign_said").keys() & set(fold(text).split())
    return bool(sign_words) or bool(_sides_named(text, every=True))


def _may_be_on_signs(text: str) -> bool:
    """Whether a line speaks of signs without saying what it means in words that we know."""
    mirrored = set(fold(text).split()) & words_of("mirrored").keys()
    spoken = speaks_of_sides(text) or defines_a_sign(text) or bool(mirrored) or _by_hand(text)
    on_sides = _is_on_sides(text) and spoken
    return on_sides or partly_stated(text, named_too=True) or sign_beside_side(text)


def _by_hand(text: str) -> bool:
    """Whether a sign is told by the player's hand, as `push side +` is, of where balls go."""
    named = _sides_named(text)
    of_the_club = bool(named) and named <= {"club_path_deg", "face_angle_deg"}
    return positive_sides(text)[2] is not None and not of_the_club


def _sides_named(text: str, *, every: bool = False) -> frozenset[str]:
    """Sided columns that a clause names; none where it speaks of sides as such."""
    words = [word for word in words_in(text) if not is_sign_word(word)]
    tags = {tag for word in words for tag in tags_of((word,))}
    special = [tag for tag in _SPECIFIC if tag in tags]
    # `Side spin and offline`: a word of its own for a side is none of the spin's.
    tags = {*special, *(tags & {"off"})} if special else tags
    if "direction" in tags and not special and "launch" not in tags:
        return frozenset(SIDED if every else ())  # `Directions` are all of them
    return frozenset(name for tag in tags for name in _NAMED.get(tag, ()))
