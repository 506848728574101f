"""What to practise next, in words."""

from __future__ import annotations

import polars as pl
from rangeledger.models.strategy.practice_gain import PracticeAdvice, PracticeClub
from rangeledger.schemas.units import counted
from rangeledger.warehouse.pages.units import club_label, day, percent

_ADVICE = 5
# What to practise, and why: by how much more, or from twice as much on by how many times.
_ASPECTS = {
    "distance": ("Distance control with the {club}.", "Carry spreads {more} more than usual",
                 "Carry spreads {times} times as far as usual"),
    "direction": ("Direction with the {club}.", "Shots spread {more} more to the sides than usual",
                  "Shots spread {times} times as far to the sides as usual"),
    "mishits": ("Clean strikes with the {club}.", "Mishits are {more} more frequent than usual",
                "Mishits are {times} times as frequent as usual"),
}  # fmt: skip
# Less than this is not worth a place on the list [strokes a round]; common practice, no source.
_LEAST_GAIN = 0.02
_MOST_LISTED = 3


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
        what, more, times = _ASPECTS[gain.aspect]
        how = more if gain.excess < 1.0 else times
        items.append(
            {
                "what": what.format(club=club_label(gain.club, gain.swing)),
                "why": how.format(more=percent(gain.excess), times=f"{1.0 + gain.excess:.1f}")
                + f"; without that about {gain.strokes_a_round:.2f} strokes fewer a round "
                f"({_uses(gain.uses_a_round)} a round). By luck: {_odds(gain.probability)}.",
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


def stands_out(flags: pl.DataFrame, how: str = "rangeledger exclude {session}") -> list[str]:
    """Sentences on the sessions that stand out: left aside here, counted in the spreads elsewhere.

    Parameters
    ----------
    flags : polars.DataFrame
        Rows of session_flags.
    how : str
        What leaves a session out: a command, or where the reader finds it.

    Returns
    -------
    list of str
        One a session, with what leaves it out; of many, the newest.
    """
    sessions = flags.unique("session_id", maintain_order=True, keep="first")
    sentences = [
        f"The session {'of ' + day(started) if started else named[:10]} stands out (see Over "
        "time): it does not count here, but does in the spreads below. If that was not the "
        f"player's usual play, leave it out everywhere: {how.format(session=named)}"
        for named, started in sessions.select("session_id", "started_at").rows()[-_MOST_LISTED:]
    ]
    more = sessions.height - len(sentences)
    return sentences + (
        [f"{counted(more, 'earlier session')} more: see Over time."] if more else []
    )


def _odds(chance: float) -> str:
    """A chance as `1 in 250`, no surer than one in a thousand."""
    if chance < 0.001:
        return "less than 1 in 1,000"
    return f"1 in {float(f'{1.0 / chance:.2g}'):,.0f}"


def _uses(often: float) -> str:
    return "less than one use" if often < 0.5 else f"about {counted(round(often), 'use')}"


def _name(club: PracticeClub) -> str:
    return club_label(club.option.pattern.club, club.option.pattern.swing)


def _rests_on(club: PracticeClub) -> str:
    return f"{counted(club.shots, 'shot')} in {counted(club.sessions, 'session')}"
