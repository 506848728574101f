"""How monitors read apart, in words that are no surer than the data."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def monitor_words(row: Mapping[str, Any], reference: Mapping[str, Any], *, alone: bool) -> str:
    """Return a sentence on one monitor.

    Parameters
    ----------
    row : mapping
        A row of `monitor_offsets`, offsets [%].
    reference : mapping
        That of the player's reference.
    alone : bool
        Whether it is the player's only one.

    Returns
    -------
    str
        One sentence; plus or minus is one standard error.
    """
    name = _name(row)
    name = name[0].upper() + name[1:] if not row["named"] else name
    if row["reference"]:
        if alone:
            return f"{name} measured every session."
        return f"{name} measured most sessions; the others are held against it."
    against = f"{name} reads {_size(row, 'carry', 'longer', 'shorter')}"
    if row["ball_speed_offset"] is not None:
        against += f" and {_size(row, 'ball_speed', 'more ball speed', 'less ball speed')}"
    against += f" than {_name(reference)}"
    if row["apart"]:
        return f"{against}; that is taken off."
    return f"{against}, within what days and chance explain."


def _name(row: Mapping[str, Any]) -> str:
    """Return what a monitor is called: a layout that stands in for a model is called that."""
    if row["named"]:
        return str(row["monitor"])
    if row["monitor"] == "unknown":
        return "an unnamed monitor"
    return f"the monitor behind {row['monitor']}"


def _size(row: Mapping[str, Any], what: str, more: str, less: str) -> str:
    """Return an offset with its error."""
    offset, error = row[f"{what}_offset"], row[f"{what}_offset_se"]
    return f"{abs(offset):.1f} \N{PLUS-MINUS SIGN} {error:.1f} % {more if offset >= 0.0 else less}"
