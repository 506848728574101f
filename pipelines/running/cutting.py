"""Cutting one player's lines out of an original that several players share."""

from __future__ import annotations

import hashlib
from bisect import bisect_right
from collections.abc import Collection, Sequence

from rangeledger.schemas.errors import UsageError
from rangeledger.warehouse.removing.forgetting import Cut
from rangeledger.warehouse.removing.leftover_names import Names


def without_lines(
    raw: bytes, name: str, begins: Sequence[int], theirs: Collection[int], others: Collection[int],
    names: Names,
) -> tuple[bytes, dict[str, int]]:  # fmt: skip
    """What is left of an original without one player's records and without lines that name them.

    Parameters
    ----------
    raw : bytes
        The original.
    name : str
        Its file name, for sentences.
    begins : sequence of int
        Lines at which its records begin, counted from 1, in order.
    theirs : collection of int
        Those of the player's records.
    others : collection of int
        Those of the other players' shots.
    names : Names
        Names of the player.

    Returns
    -------
    left : bytes
    lines : dict of str to int
        Line of the original, as text -> line of what is left.

    Raises
    ------
    UsageError
        If a line holds shots of the player and of others, or lines can't be told apart.
    """
    if b"\x00" in raw:
        raise UsageError(
            f"{name} is written in an encoding whose lines can't be cut. "
            "Forget it for both players: --both."
        )
    lines = raw.splitlines(keepends=True)
    cut = {
        line
        for line in range(1, len(lines) + 1)
        if _record_of(line, begins) in theirs or names.are_in(lines[line - 1])
    }
    shared = sorted(cut & set(others))
    if shared:
        raise UsageError(
            f"{name}, line {shared[0]} holds the player's shots and others' too, so it can't be "
            "cut. Forget the export for both players: --both."
        )
    kept = [line for line in range(1, len(lines) + 1) if line not in cut]
    return (
        b"".join(lines[line - 1] for line in kept),
        {str(old): new for new, old in enumerate(kept, start=1)},
    )


def _record_of(line: int, begins: Sequence[int]) -> int:
    """Line at which the record begins to which a line belongs."""
    place = bisect_right(begins, line)
    return begins[place - 1] if place else line


def as_cut(source: str, kept: bytes, lines: dict[str, int]) -> Cut:
    """The cut of an original, by its content hash and that of what is left."""
    return Cut(source, hashlib.sha256(kept).hexdigest(), lines)
