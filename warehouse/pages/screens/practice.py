"""What to practise next, and from how many shots that is known."""

from __future__ import annotations

from rangeledger.models.strategy.practice_gain import practice_advice
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.cautions import HOW_MUCH
from rangeledger.schemas.errors import NotEnoughShotsError
from rangeledger.warehouse.pages.bag import bag_of, practice_clubs
from rangeledger.warehouse.pages.practice_words import advice, not_judged
from rangeledger.warehouse.pages.screens.parts import Screen, ScreenRequest, Words

_HOW = (
    "Usual is the tighter of two: what this player’s other clubs show, and a plain assumption for "
    "players of this length. All clubs are asked about distance, about direction where it was "
    "measured, and about mishits, visits that stand out left aside; of players who are as usual "
    "one in ten at most is named anything."
)


def practice(request: ScreenRequest) -> Screen:
    """What stands out, weighed by the strokes of a usual round.

    Parameters
    ----------
    request : ScreenRequest
        Whose.

    Returns
    -------
    Screen
    """
    try:
        bag = bag_of(request.connection, request.player)
    except NotEnoughShotsError as error:
        return Screen("Practice", "", (Words("What to practise next", [str(error)]),))
    clubs = practice_clubs(request.connection, request.player, bag)
    found = practice_advice(clubs, StrokesToHoleOut.published())
    sentences = [f"{item['what']} {item['why']}" for item in advice(found)]
    none = "Nothing stands out: as far as the shots can tell, every club does what is usual."
    parts = [Words("What to practise next", sentences or [none], listed=bool(sentences))]
    if unsure := not_judged(found):
        parts.append(Words("Not judged", unsure))
    parts.append(Words("How this is found", [_HOW, HOW_MUCH]))
    return Screen("Practice", "", tuple(parts))
