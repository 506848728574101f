"""What to practise next, in words."""

from __future__ import annotations

from models.practice_gain import PracticeAdvice, PracticeClub
from schemas.units import counted
from warehouse.pages.units import club_label, percent

_ADVICE = 5
_ASPECTS = {
    "distance": ("Distance control with the {club}.", "Carry spreads {more} more than usual"),
    "direction": ("Direction with the {club}.", "Shots spread {more} more to the sides than usual"),
    "mishits": ("Clean strikes with the {club}.", "Mishits are {more} more frequent than usual"),
}
# Less than this is not worth a place on the list [strokes a round]; common practice, no source.
_LEAST_GAIN = 0.02


def advice(practice: PracticeAdvice, most: int = _ADVICE) -> list[dict[str, str]]:
    """What to practise, in words, each club and swing once.

    Parameters
    ----------
    practice : PracticeAdvice
        What stands out, the greatest first.
    most : int
        How many.

    Returns
    -------
    list of dict
        `what` and `why`.
    """
    seen: set[tuple[str, str]] = set()
    items = []
    for gain in practice.gains:
        if (gain.club, gain.swing) in seen or gain.strokes_a_round < _LEAST_GAIN:
            continue
        seen.add((gain.club, gain.swing))
        what, how = _ASPECTS[gain.aspect]
        items.append(
            {
                "what": what.format(club=club_label(gain.club, gain.swing)),
                "why": f"{how.format(more=percent(gain.excess))}; without that about "
                f"{gain.strokes_a_round:.2f} strokes fewer a round, at "
                f"{_uses(gain.uses_a_round)}.",
            }
        )
    return items[:most]


def not_judged(practice: PracticeAdvice) -> list[str]:
    """Sentences on the clubs that nothing can be advised of yet.

    Parameters
    ----------
    practice : PracticeAdvice
        What stands out, and what can't be judged.

    Returns
    -------
    list of str
    """
    sentences = []
    if practice.too_few:
        clubs = ", ".join(f"{_name(club)} ({_rests_on(club)})" for club in practice.too_few)
        sentences.append(f"Not enough shots yet to judge: {clubs}.")
    if practice.loft_unknown:
        clubs = ", ".join(_name(club) for club in practice.loft_unknown)
        sentences.append(f"Not judged, because the name tells no loft: {clubs}.")
    return sentences


def _uses(often: float) -> str:
    return "less than one use" if often < 0.5 else f"about {counted(round(often), 'use')}"


def _name(club: PracticeClub) -> str:
    return club_label(club.option.pattern.club, club.option.pattern.swing)


def _rests_on(club: PracticeClub) -> str:
    return f"{counted(club.shots, 'shot')} in {counted(club.sessions, 'session')}"
