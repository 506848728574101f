"""Names by themselves in lines above shots: whose the blocks below them are."""

from __future__ import annotations

from collections.abc import Sequence

from rangeledger.pipelines.reader.recognising.blocks import Block
from rangeledger.pipelines.reader.recognising.facts import Fact
from rangeledger.pipelines.reader.recognising.names_in_text import is_name

LONE_NAME = "lone_name"  # no column: what may be a person's name, until another one follows
_FEWEST_NAMES = 2


def is_full_name(text: str) -> bool:
    """Whether a text is written like a given and a family name, and means nothing else."""
    return len(text.split()) > 1 and is_name(text.strip())


def name_blocks(blocks: Sequence[Block]) -> None:
    """Give blocks the players that lines above them name, where there are several.

    One such line may be the name of a place or a tournament; two in turn, each above its own
    shots, are those of the people who struck them.

    Parameters
    ----------
    blocks : sequence of Block
        Changed in place.
    """
    named = [block.facts.pop(LONE_NAME, None) for block in blocks]
    if len({fact.text for fact in named if fact}) < _FEWEST_NAMES:
        return
    for block, fact in zip(blocks, named, strict=True):
        if fact is not None and "player" not in block.facts:
            block.facts["player"] = Fact("player", fact.text, (), fact.line, loose=True)
