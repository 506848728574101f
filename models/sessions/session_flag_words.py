"""Likely causes of an unusual session in plain words, no surer than the data allow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Protocol

import numpy as np

# ln(1.0936): carry in yards read as metres, or the other way round.
LOG_YARDS_PER_METRE: Final = float(np.log(1.0 / 0.9144))


class Evidence(Protocol):
    """What a test found: its leading feature, the shift and its error."""

    @property
    def feature(self) -> str:
        """Name of the feature."""
        ...

    @property
    def shift(self) -> float:
        """Shift of the session."""
        ...

    @property
    def standard_error(self) -> float:
        """Error of the shift."""
        ...


def cause_words(
    flagged: Mapping[str, Evidence], *, modelled: bool, monitor: str | None = None
) -> str:
    """Return the likely cause of an unusual session.

    Parameters
    ----------
    flagged : mapping of str to Evidence
        The tests that flagged: `outcome`, `launch`, `residual`.
    modelled : bool
        Whether the flight was computed from the launch, so that wind can't show.
    monitor : str, optional
        What measured the session, where nothing before was measured by it.

    Returns
    -------
    str
        One or two sentences.

    Notes
    -----
    Another monitor comes before all else: nothing else changed for certain. Launch alone: the
    swing, or a monitor that nobody named. Carry or curve given launch alone: conditions, ball,
    device or units. Both: both. Outcome alone: unusual, cause unknown.
    """
    launch, residual = flagged.get("launch"), flagged.get("residual")
    if monitor is not None:
        return _monitor_words(monitor, launch or residual or flagged["outcome"])
    if launch and residual:
        return f"{_launch_words(launch)} And: {_residual_words(residual, modelled)}"
    if launch:
        return _launch_words(launch)
    if residual:
        return _residual_words(residual, modelled)
    return (
        "Unusual carry or side, cause unknown: neither the launch nor the flight stands out alone."
    )


def _launch_words(found: Evidence) -> str:
    """Return the words for an unusual launch."""
    size = _size(found)
    if found.feature == "start direction":
        return f"The start line moved {size}: aim, or how the device was set up."
    if found.feature == "ball speed":
        return (
            f"The swing changed, or another monitor measured: ball speed {size}; the flight fits "
            "the launch."
        )
    return f"The swing changed: {found.feature} {size}; the flight fits the launch."


def _monitor_words(monitor: str, found: Evidence) -> str:
    """Return the words for a session that another monitor measured."""
    return (
        f"Another monitor measured ({monitor}): against those before it reads {found.feature} "
        f"{_size(found)}. Hold its sessions against each other until both were used on one day."
    )


def wrong_club_words(club: str, looks_like: str, *, swapped: bool) -> str:
    """Return the words for clubs that carry as others do.

    Parameters
    ----------
    club, looks_like : str
        The club as named, and the one that it carries like.
    swapped : bool
        Whether the other carries like the first.

    Returns
    -------
    str
        One sentence.
    """
    if swapped:
        return (
            f"The {club} and the {looks_like} carry as each other usually do: their names look "
            "swapped."
        )
    return f"The {club} carries as the {looks_like} usually does: the name looks wrong."


def _residual_words(found: Evidence, modelled: bool) -> str:
    """Return the words for carry or curve that does not fit the launch."""
    size = _size(found)
    if modelled:
        return (
            f"{_subject(found)} {size} for the launch, though the device computes flight from the "
            "launch: its units or its flight model changed."
        )
    if found.feature == "curve":
        return (
            f"Shots drift {size} beyond their launch: crosswind, or the target line of the device."
        )
    if abs(abs(found.shift) - LOG_YARDS_PER_METRE) <= found.standard_error:
        scale = "it looks like yards and metres mixed up, which differ by 9.4 %"
    else:
        scale = "a wrong distance scale"
    air = (
        "headwind, colder or denser air, a range ball"
        if found.shift < 0.0
        else "tailwind, warmer or thinner air, a livelier ball"
    )
    return (
        f"Carry is {size} for the launch: {air}, or {scale}. One session can't tell scale from "
        "wind; a wrong scale stays the same in the next."
    )


def _subject(found: Evidence) -> str:
    """Return what the words are about."""
    return "Curve is" if found.feature == "curve" else "Carry is"


def _size(found: Evidence) -> str:
    """Return the shift in words."""
    if found.feature in ("launch angle",):
        return f"{abs(found.shift):.1f} deg {'higher' if found.shift > 0.0 else 'lower'}"
    if found.feature in ("side", "curve", "start direction"):
        return f"{abs(found.shift):.1f} deg to the {'right' if found.shift > 0.0 else 'left'}"
    return f"{100.0 * abs(np.expm1(found.shift)):.1f} % {'more' if found.shift > 0.0 else 'less'}"
