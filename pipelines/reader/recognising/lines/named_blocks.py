"""Names by themselves in lines above shots: whose the blocks below them are."""

from __future__ import annotations

from collections.abc import Sequence

from rangeledger.pipelines.reader.recognising.lines.blocks import Block
from rangeledger.pipelines.reader.recognising.words.facts import Fact
from rangeledger.pipelines.reader.recognising.words.names_in_text import LONE_NAME, TITLE_NAME

_FEWEST_NAMES = 2
_MOST_TOLD = 3


def name_blocks(blocks: Sequence[Block]) -> list[str]:
    """Give blocks the players whom lines above them name without saying so.

    A name by itself may be that of a place or a tournament; two in turn, each above its own
    shots, are those of the people who struck them. A name beside words for a visit,
    `Range session - Tamsin Orrelle`, is taken for a player's, and that is told: a place may be
    written so too. All that stood so in exports of strangers were players; those were four.

    Parameters
    ----------
    blocks : sequence of Block
        Changed in place.

    Returns
    -------
    list of str
        What was taken for players so, or may be one and was not taken.
    """
    names = [(b, b.facts.pop(TITLE_NAME, None), b.facts.pop(LONE_NAME, None)) for b in blocks]
    open_ones = [(b, title, lone) for b, title, lone in names if not _is_named(b)]
    in_turn = len({lone.text for _, _, lone in names if lone}) >= _FEWEST_NAMES
    taken: dict[str, int] = {}
    left: dict[str, int] = {}
    for block, title, lone in open_ones:
        fact = lone if lone and in_turn else title
        if fact is not None:
            block.facts["player"] = Fact("player", fact.text, (), fact.line, loose=True)
            taken[fact.text] = fact.line
        elif lone is not None:
            left[lone.text] = lone.line
    remarks = [
        f"Line {line}: {name!r} may be who played, or a place; it was not taken. If it is, state "
        "player in a note."
        for name, line in left.items()
    ]
    if taken:
        more = " and others" if len(taken) > _MOST_TOLD else ""
        told = ", ".join(f"{n!r} (line {line})" for n, line in list(taken.items())[:_MOST_TOLD])
        remarks.append(
            f"Names above the shots were taken for the players, though no word says so: "
            f"{told}{more}. If that is not so, state player in a note."
        )
    return remarks


def _is_named(block: Block) -> bool:
    """Whether a line or a column says whose the shots are."""
    columns = {heading.best.column for heading in block.headings if heading.best}
    return "player" in block.facts or "player" in columns
