"""How far a mishit falls short: a gamma law of shape 2, told by its mean.

A mishit is a shot that one can tell from a clean strike, so few of them lose next to nothing. An
exponential loss has its mode there: fitted to shots, it takes the outer clean strikes for mishits,
and it puts the 10 % point of a player who mishits one shot in six far too near. Laws of shape 2 and
3 do as well on the makes of players kept for tuning; of these, 2 has the closed forms.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from rangeledger.models.arrays import FloatArray
from scipy import special

SHAPE: Final = 2.0
# Guards ln 0 only.
LEAST: Final = 1e-12


def log_loss_density(loss: FloatArray, mean: FloatArray) -> FloatArray:
    """Return the ln of the density of the loss of a mishit.

    Parameters
    ----------
    loss : array
        Loss of carry [any unit], >= 0.
    mean : array
        Its mean [unit of `loss`], > 0; shapes broadcast.

    Returns
    -------
    array
        ln of the density [1 / unit of `loss`]; finite at 0, where the density is none.

    Notes
    -----
    ln(4 d / m^2) - 2 d / m.
    """
    rate = 2.0 / mean
    scaled = rate * loss
    return np.asarray(np.log(np.maximum(scaled, LEAST) * rate) - scaled, dtype=np.float64)


def loss_beyond(loss: FloatArray, mean: FloatArray) -> FloatArray:
    """Return the chance that a mishit loses more.

    Parameters
    ----------
    loss : array
        Loss of carry [any unit], >= 0.
    mean : array
        Its mean [unit of `loss`], > 0; shapes broadcast.

    Returns
    -------
    array
        Probability [1].

    Notes
    -----
    (1 + 2 d / m) exp(-2 d / m).
    """
    scaled = 2.0 * loss / mean
    return np.asarray((1.0 + scaled) * np.exp(-scaled), dtype=np.float64)


def loss_quantile(chance: FloatArray) -> FloatArray:
    """Return quantiles of the loss of a mishit.

    Parameters
    ----------
    chance : array
        Chance of losing less [1], 0 <= chance < 1.

    Returns
    -------
    array
        Loss, as a multiple of its mean [1].
    """
    return np.asarray(special.gammaincinv(SHAPE, chance) / SHAPE, dtype=np.float64)


def loss_means(parts: int) -> FloatArray:
    """Return the means of equally likely parts of the loss.

    Parameters
    ----------
    parts : int
        How many parts [1], at least 1.

    Returns
    -------
    array, shape (parts,)
        Mean of each part, as a multiple of the mean of all [1].

    Notes
    -----
    The mean below an edge is the share of the gamma of shape 3 below it.
    """
    edges = special.gammaincinv(SHAPE, np.arange(parts + 1) / parts)
    return np.asarray(np.diff(special.gammainc(SHAPE + 1.0, edges)) * parts, dtype=np.float64)


def draw_losses(shape: int | tuple[int, ...], rng: np.random.Generator) -> FloatArray:
    """Draw losses of mishits.

    Parameters
    ----------
    shape : int or tuple of int
        How many.
    rng : numpy.random.Generator
        Source of randomness.

    Returns
    -------
    array of that shape
        Losses, as multiples of their mean [1].
    """
    return np.asarray(rng.standard_gamma(SHAPE, shape) / SHAPE, dtype=np.float64)
