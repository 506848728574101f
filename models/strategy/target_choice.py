"""Where to aim with which club: the choice of a target by expected score."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rangeledger.models.flight.day_flight import Conditions
from rangeledger.models.strategy.aim_search import (
    THOROUGH,
    Effort,
    RasterSearch,
    Stroke,
    evaluate_best_aim,
    search_raster,
)
from rangeledger.models.strategy.aimed_option import (
    Advantage,
    Option,
    OptionAtBestAim,
    advantage,
)
from rangeledger.models.strategy.hole_geometry import HazardOnLine, Hole, hazards_on_line
from rangeledger.models.strategy.strokes_surface import (
    GroundGrid,
    StrokesSurface,
    ground_grid,
    strokes_surface,
)
from rangeledger.models.strategy.strokes_to_hole_out import StrokesToHoleOut
from rangeledger.schemas.errors import NotEnoughShotsError

# A club so much behind the best is no choice; the runner-up is told whatever it is behind.
SENSIBLE_STROKES = 0.5
_LEAST_OPTIONS = 2
# The raster tells a score to within this, so that many more are looked at closely.
_RASTER_STROKES = 0.05


@dataclass(frozen=True, slots=True)
class TargetChoice:
    """Options of a stroke that make sense, best first, and what lies on the line of the best.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    surface : StrokesSurface
        Cost of finishing.
    options : tuple of OptionAtBestAim
        Best first.
    hazards : tuple of HazardOnLine
        On the line of the best one.
    shortest_m : float
        Carry of the shortest swing of the day, whether it makes sense or not [m].
    """

    hole: Hole
    surface: StrokesSurface
    options: tuple[OptionAtBestAim, ...]
    hazards: tuple[HazardOnLine, ...]
    shortest_m: float

    def advantage(self, second: int = 1) -> Advantage:
        """Advantage of the best option over another.

        Parameters
        ----------
        second : int
            Place of the other option, 1 for the runner-up [1].

        Returns
        -------
        Advantage
            Strokes with their interval.
        """
        return advantage(self.options[0], self.options[second])


def choose_target(
    hole: Hole,
    options: Sequence[Option],
    table: StrokesToHoleOut,
    conditions: Conditions,
    *,
    grid: GroundGrid | None = None,
    effort: Effort = THOROUGH,
    within: float = SENSIBLE_STROKES,
    seed: int = 1,
) -> TargetChoice:
    """Best aim of every option that makes sense, ranked by expected score.

    Parameters
    ----------
    hole : Hole
        The hole with the ball in place.
    options : sequence of Option
        Clubs and swings to choose from, at least one.
    table : StrokesToHoleOut
        Strokes to hole out by distance and lie.
    conditions : Conditions
        Wind and air; the wind is told from the along axis of the hole.
    grid : GroundGrid or None
        Raster of the hole, if it is at hand already.
    effort : Effort
        How finely to search.
    within : float
        Options so much behind the best are left out, but for the runner-up [strokes]; infinite
        keeps all.
    seed : int
        Start of the random numbers [1].

    Returns
    -------
    TargetChoice
        Options by rising expected score.

    Raises
    ------
    NotEnoughShotsError
        If there is no option.
    """
    if not options:
        raise NotEnoughShotsError(
            "There is no club model to choose from; ingest a session and run 'fit' first."
        )
    longest = max(option.pattern.carry_m for option in options)
    grid = grid or ground_grid(hole, reach_m=longest)
    stroke = Stroke(hole, table, strokes_surface(hole, grid, table), conditions)
    searches = sorted((search_raster(stroke, option, effort) for option in options), key=_by_score)
    near = _near([search.score for search in searches], within + _RASTER_STROKES)
    found = [evaluate_best_aim(stroke, search, effort, seed) for search in searches[:near]]
    found.sort(key=_by_score)
    found = found[: _near([option.score for option in found], within)]
    carries = [
        search.day(conditions).stock_landing(search.option.stock)[0, 0] for search in searches
    ]
    hazards = hazards_on_line(hole, found[0].aim_rad)
    return TargetChoice(hole, stroke.surface, tuple(found), tuple(hazards), float(min(carries)))


def _by_score(found: RasterSearch | OptionAtBestAim) -> tuple[float, str]:
    return found.score, found.option.pattern.name


def _near(scores: Sequence[float], strokes: float) -> int:
    """How many of some rising scores are near the first, the second always among them."""
    near = sum(score <= scores[0] + strokes for score in scores)
    return max(near, min(_LEAST_OPTIONS, len(scores)))
