"""What is usual of a club for a player's length: spreads and mishits of the population."""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.clubs.nominal_carry import (
    LOFT_CENTRE_DEG,
    LOFT_SCALE_DEG,
    log_full_carry,
    nominal_loft_deg,
)
from rangeledger.models.population import POPULATION, Population

ASPECTS: Final = ("distance", "direction", "mishits")


def usual_level(
    club: str, swing: str, carry_m: float, drive_m: float, population: Population = POPULATION
) -> dict[str, float]:
    """Usual spreads of clean strikes, from session to session too, and usual share of mishits.

    Parameters
    ----------
    club, swing : str
        Canonical words; the loft of the club must be known.
    carry_m : float
        Carry of the swing [m], > 0.
    drive_m : float
        Carry of the player's drive [m], > 0.
    population : Population
        Defaults.

    Returns
    -------
    dict
        `distance` and `direction`: standard deviation along and across as a share of carry [1];
        `mishits`: share of shots [1].

    Notes
    -----
    The defaults that a fit starts from: spread within a session times the factors for length,
    loft (across) and a shortened swing (along), with the drift between sessions added in
    quadrature. Length ratio: drive against the reference player's.
    """
    loft, driver = (
        (nominal_loft_deg(word) - LOFT_CENTRE_DEG) / LOFT_SCALE_DEG for word in (club, "driver")
    )
    full, reference = np.exp(log_full_carry(np.array([loft, driver])))
    length = drive_m / reference
    usual = population.usual_handicap(np.asarray(length))
    factor, mishits = (float(x) for x in population.handicap_factors(usual))
    share = np.asarray(1.0 if swing == "full" else carry_m / (full * length))
    along = population.carry_spread * float(population.partial_swing_factor(share))
    across = population.side_spread * float(np.exp(population.side_spread_slope * loft))
    return {
        "distance": factor * float(np.hypot(along, population.carry_drift)),
        "direction": factor * float(np.hypot(across, population.side_drift)),
        "mishits": population.mishit_rate * mishits,
    }
