"""Rows too regular to be struck: a grid or a sweep of launches, a chart of whole distances."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt
from rangeledger.pipelines.reader.recognising.columns.assignment import Assigned

Numbers = npt.NDArray[np.float64]

_LAUNCH = (
    "ball_speed_mps", "clubhead_speed_mps", "launch_angle_deg", "spin_rate_rpm",
)  # fmt: skip
_DISTANCES = ("carry_m", "total_m")
# Three values at even steps, each with each of another column, or five rows at even steps: no
# player repeats that to the last digit. Common practice, no source.
_FEWEST_LEVELS, _FEWEST_STEPS, _FEWEST_CLUBS = 3, 5, 4


def are_computed(columns: Mapping[str, Assigned]) -> bool:
    """Whether launches stand in a grid or at even steps, as a calculator writes them.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What became of the table's columns.

    Returns
    -------
    bool
        True where two launch columns hold each of their even levels with each of the other's, or
        where one runs on at even steps while another stands still.
    """
    launches = [_numbers(columns, name) for name in _LAUNCH]
    known = [values for values in launches if values is not None]
    if len({len(values) for values in known}) != 1:
        return False
    varied = [v for v in known if np.unique(v).size > 1]
    if len(varied) == 1 and len(known) > 1:
        return len(varied[0]) >= _FEWEST_STEPS and _is_even(varied[0])
    return any(_is_grid(one, other) for k, one in enumerate(varied) for other in varied[k + 1 :])


def is_chart_of_distances(columns: Mapping[str, Assigned], row_a_club: bool) -> bool:
    """Whether each club has one whole distance, from the longest to the shortest or back.

    Parameters
    ----------
    columns : mapping of str to Assigned
        What became of the table's columns.
    row_a_club : bool
        Whether no club has two rows.

    Returns
    -------
    bool
        Only for tables that measure nothing but carry and total.
    """
    distances = [values for name in _DISTANCES if (values := _numbers(columns, name)) is not None]
    if not distances or not row_a_club or len(distances[0]) < _FEWEST_CLUBS:
        return False
    steps = np.diff(distances[0])
    in_order = bool((steps < 0).all() or (steps > 0).all())
    return in_order and all(bool((values == np.round(values)).all()) for values in distances)


def _numbers(columns: Mapping[str, Assigned], name: str) -> Numbers | None:
    """Values of a column as written, None where it is absent or has gaps."""
    if name not in columns:
        return None
    profile = columns[name].profile
    known = np.asarray(profile.known, np.float64)
    return known if known.size and known.size == len(profile.text) else None


def _is_even(values: Numbers) -> bool:
    steps = np.diff(values)
    return bool(steps.size and steps[0] != 0.0 and np.allclose(steps, steps[0], rtol=1e-6))


def _is_grid(one: Numbers, other: Numbers) -> bool:
    levels = np.unique(one), np.unique(other)
    if any(found.size < _FEWEST_LEVELS or not _is_even(found) for found in levels):
        return False
    pairs = len(set(zip(one.tolist(), other.tolist(), strict=True)))
    return pairs == len(one) == levels[0].size * levels[1].size
