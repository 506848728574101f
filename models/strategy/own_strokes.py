"""A player's own strokes to hole out: the player's patterns, putts and short game to match."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from rangeledger.models.arrays import FloatArray
from rangeledger.models.flight.day_flight import STILL_AIR, day_flight
from rangeledger.models.strategy.aimed_option import Option
from rangeledger.models.strategy.near_green import NearGreen
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.errors import NotEnoughShotsError
from rangeledger.schemas.units import YARD_M

# The plain hole on which the strokes are played, common practice, no source: a round green with
# the flag in its middle, fairway so wide, rough beside it and about the green.
GREEN_RADIUS_M = 13.0
FAIRWAY_HALF_WIDTH_M = 15.0
# Nearer than this off the green the short game holds, which no range session shows.
SHORT_GAME_M = 30.0 * YARD_M
_DISTANCES_M = np.arange(15.0, 605.0, 10.0) * YARD_M
_POINTS = 240
_ROUNDS = 25


def own_strokes(
    options: Sequence[Option], published: StrokesToHoleOut, near_green: NearGreen | None = None
) -> StrokesToHoleOut:
    """Strokes to hole out of a player who always takes the best club, aimed at the flag.

    Parameters
    ----------
    options : sequence of Option
        The player's clubs and swings.
    published : StrokesToHoleOut
        Table that gives what each lie costs against fairway.
    near_green : NearGreen or None
        Putts and short game; None takes them from the table.

    Returns
    -------
    StrokesToHoleOut
        From fairway as worked out; from the other lies by the published differences.

    Raises
    ------
    NotEnoughShotsError
        If there is no club.

    Notes
    -----
    ``V(d) = 1 + min over clubs of E[V(what is left)]``, solved by iteration: a finish within 13 m
    of the flag leaves putts, within 30 yd of it a pitch or chip from rough, farther off V
    from fairway or rough by how far from the line it lies. No hazards, still air, level ground.
    From the fairway the longest club stays in the bag. A spot nearer the flag never costs more
    than one farther off: between two clubs a player grips down or swings easier. Beyond the
    reach of the longest club two or more strokes are played, so the table holds to 600 yd.
    """
    if not options:
        raise NotEnoughShotsError("There is no club model; ingest a session first, then ask again.")
    longest = max(option.pattern.carry_m for option in options)
    grounded = [option for option in options if option.pattern.carry_m < longest] or list(options)
    near = near_green or NearGreen(published)
    fairway = _solved([_finishes(option) for option in grounded], published, near)
    return StrokesToHoleOut.from_nodes(
        {
            "fairway": _nodes(fairway),
            "rough": _nodes(fairway + _difference(published, "rough")),
            "sand": _nodes(fairway + _difference(published, "sand")),
            "recovery": _nodes(fairway + _difference(published, "recovery")),
            "tee": _nodes(_from_tee(options, fairway, published, near)),
            "green": _green(near),
        },
        _source(near),
    )


def _source(near: NearGreen) -> str:
    """Where the numbers come from, in a short line."""
    if near.as_published:
        return "the player's own clubs on a plain hole, with putts and short game of the table"
    return (
        "the player's own clubs on a plain hole; putts and short game simulated for a handicap of "
        f"about {near.handicap:.0f}"
    )


def _finishes(option: Option) -> tuple[FloatArray, FloatArray]:
    """Points of rest, along and across the line to the flag, and their weights."""
    points, weights = option.pattern.points(_POINTS)
    day = day_flight(option.launch, STILL_AIR)
    centred = points - np.array([0.0, option.pattern.side_m])
    far = np.hypot(centred[:, 0], centred[:, 1])
    return centred * (1.0 + day.run_m[0] / np.maximum(far, 1.0))[:, None], weights


def _left(finish: FloatArray) -> tuple[FloatArray, npt.NDArray[np.bool_]]:
    """Distance left after each finish from each distance, and whether it lies on fairway."""
    left = np.hypot(_DISTANCES_M[:, None] - finish[None, :, 0], finish[None, :, 1])
    return left, np.abs(finish[:, 1])[None, :] <= FAIRWAY_HALF_WIDTH_M


def _solved(
    finishes: Sequence[tuple[FloatArray, FloatArray]],
    published: StrokesToHoleOut,
    near: NearGreen,
) -> FloatArray:
    """Strokes from fairway at every distance."""
    lefts = [(*_left(finish), weights) for finish, weights in finishes]
    costs = [_fixed(left, near) for left, _, _ in lefts]
    rough = _difference(published, "rough")
    strokes = published.strokes(_DISTANCES_M, "fairway")
    for _ in range(_ROUNDS):
        best = np.full(len(_DISTANCES_M), np.inf)
        for (left, mown, weights), fixed in zip(lefts, costs, strict=True):
            best = np.minimum(best, _after(left, mown, weights, fixed, strokes, rough))
        if np.abs(1.0 + best - strokes).max() < 1e-4:
            break
        strokes = 1.0 + best
    return _never_worse_closer(strokes)


def _never_worse_closer(strokes: FloatArray) -> FloatArray:
    """Strokes without the bumps of distances between two clubs, for which players improvise."""
    return np.asarray(np.minimum.accumulate(strokes[::-1])[::-1])


def _from_tee(
    options: Sequence[Option], fairway: FloatArray, published: StrokesToHoleOut, near: NearGreen
) -> FloatArray:
    """Strokes from the tee at every distance, with every club."""
    rough = _difference(published, "rough")
    best = np.full(len(_DISTANCES_M), np.inf)
    for finish, weights in (_finishes(option) for option in options):
        left, mown = _left(finish)
        fixed = _fixed(left, near)
        best = np.minimum(best, _after(left, mown, weights, fixed, fairway, rough))
    return _never_worse_closer(1.0 + best)


def _after(
    left: FloatArray,
    mown: npt.NDArray[np.bool_],
    weights: FloatArray,
    fixed: FloatArray,
    strokes: FloatArray,
    rough: FloatArray,
) -> FloatArray:
    """Mean strokes after one club from every distance."""
    open_play = np.interp(left, _DISTANCES_M, strokes)
    open_play += np.where(mown, 0.0, np.interp(left, _DISTANCES_M, rough))
    return np.asarray(np.where(np.isnan(fixed), open_play, fixed) @ weights)


def _fixed(left: FloatArray, near: NearGreen) -> FloatArray:
    """Strokes of finishes on the green and in the short game, NaN farther off."""
    putts = near.putts(left)
    short = np.where(left <= SHORT_GAME_M, near.short_game(left), np.nan)
    return np.asarray(np.where(left <= GREEN_RADIUS_M, putts, short))


def _difference(published: StrokesToHoleOut, lie: str) -> FloatArray:
    """What a lie costs against fairway in the published table."""
    return published.strokes(_DISTANCES_M, lie) - published.strokes(_DISTANCES_M, "fairway")


def _nodes(strokes: FloatArray) -> dict[float, float]:
    return dict(zip(_DISTANCES_M.tolist(), strokes.tolist(), strict=True))


def _green(near: NearGreen) -> dict[float, float]:
    lengths = np.concatenate((np.arange(1.0, 11.0), np.arange(15.0, 95.0, 5.0))) * 0.3048
    return dict(zip(lengths.tolist(), near.putts(lengths).tolist(), strict=True))
