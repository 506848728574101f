"""A player's shots: fitted, and the next ones drawn."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import polars as pl
from rangeledger.models.clubs.shot_pattern import pattern_of
from rangeledger.models.players import player_fit
from rangeledger.schemas.errors import UsageError


def fit_player(
    shots: pl.DataFrame,
    *,
    hands: Mapping[str, str] | None = None,
    handicaps: Mapping[str, float] | None = None,
) -> dict[str, pl.DataFrame]:
    """Fit carry, dispersion, shape, wind and more to the shots of one player.

    Parameters
    ----------
    shots : polars.DataFrame
        Canonical shots of one player, as `read_export` and the view `shots` give them; those
        whose column `excluded` is true are left out.
    hands : mapping of str to str, optional
        `left` or `right` by player, for naming shapes.
    handicaps : mapping of str to float, optional
        Handicap by player [strokes], for what is usual of a player of few shots.

    Returns
    -------
    dict of str to polars.DataFrame
        Rows by table: `carry`, `dispersion`, `club_gaps`, `shot_shapes`, `wedge_grid`, …

    Raises
    ------
    UsageError
        If the shots are of none or of several players.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> shots = rl.read_export(sample_folder() / "mountain-range.csv").shots
    >>> fits = rl.fit_player(shots)
    >>> fits["carry"].filter(club="7-iron").select("club", "shots", "sessions").rows()
    [('7-iron', 8, 1)]
    """
    names = shots["player"].unique().to_list() if "player" in shots.columns else []
    if len(names) != 1:
        raise UsageError(
            f"The shots are of {len(names)} players. Give those of one, such as "
            "shots.filter(pl.col('player') == 'Ada Brook')."
        )
    if "excluded" not in shots.columns:
        shots = shots.with_columns(excluded=False)
    facts = player_fit.PlayerFacts(hands or {}, handicaps or {})
    return player_fit.fit_player(shots, facts)


def next_shots(
    fits: Mapping[str, pl.DataFrame],
    club: str,
    swing: str = "full",
    *,
    ball: str | None = None,
    count: int = 100,
    seed: int = 0,
) -> pl.DataFrame:
    """Draw next shots that a fitted player might hit, in still air, mishits included.

    Parameters
    ----------
    fits : mapping of str to polars.DataFrame
        As `fit_player` gives them.
    club, swing : str
        Canonical words, such as `7-iron` and `full`.
    ball : str, optional
        Kind of ball; by default the one of which the player hit most.
    count : int
        How many shots [1].
    seed : int
        The same seed draws the same shots [1].

    Returns
    -------
    polars.DataFrame
        `carry_m`, `carry_side_m` [m] and `strike`, `clean` or `mishit`.

    Raises
    ------
    UsageError
        If the player has no such club and swing.

    Examples
    --------
    >>> import rangeledger as rl
    >>> from rangeledger.sample_exports import sample_folder
    >>> fits = rl.fit_player(rl.read_export(sample_folder() / "mountain-range.csv").shots)
    >>> drawn = rl.next_shots(fits, "driver", count=1000)
    >>> drawn.columns, drawn.height
    (['carry_m', 'carry_side_m', 'strike'], 1000)
    """
    known = fits["shot_distributions"]
    chosen = known.filter(club=club, swing=swing, **({"ball": ball} if ball else {}))
    if not chosen.height:
        there = ", ".join(f"{c} {s}" for c, s in known.select("club", "swing").unique().sort(
            "club", "swing").iter_rows())  # fmt: skip
        raise UsageError(f"There is no {club} {swing}. The player has: {there}.")
    row = chosen.sort("shots", descending=True, maintain_order=True).row(0, named=True)
    points, mishit = pattern_of(row).draw(count, np.random.default_rng(seed))
    strike = pl.when(pl.Series(mishit)).then(pl.lit("mishit")).otherwise(pl.lit("clean"))
    return pl.DataFrame({"carry_m": points[:, 0], "carry_side_m": points[:, 1]}).with_columns(
        strike=strike
    )
