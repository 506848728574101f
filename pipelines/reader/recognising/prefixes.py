"""What several headings begin with, as tables of a database or instruments do: `camera.path`."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from rangeledger.pipelines.reader.recognising.heading import read_heading
from rangeledger.pipelines.reader.recognising.heading_tags import tag_readings, words_in
from rangeledger.schemas.compositions import column_dimension
from rangeledger.schemas.words import fold, words_of

_PREFIX = re.compile(r"^\s*([^\W\d_][^\W_]*)\s*(?:[.:|>/]|_|->)\s*(\S.*)$")
_ALIAS = re.compile(r"^\s*([a-z]{1,2}[0-9]?)\.([a-z][a-z0-9_]{2,})\s*$")
_FEWEST, _FEWEST_ALIASED = 2, 4
_MOSTLY = 0.6  # share of the columns from which an unknown word is the name of the whole table
# Words of a part of a shot; any other known word, such as a goal, makes another quantity of it.
_PARTS = frozenset({"ball", "club", "flight", "shot", "launch", "landing", "impact", "swing"})


def without_prefix(texts: Sequence[str]) -> list[str | None]:
    """Headings without what several of them begin with.

    Parameters
    ----------
    texts : sequence of str
        Headings of a table.

    Returns
    -------
    list of (str or None)
        One a heading; None where it has no such beginning, or one that may change what is meant.
    """
    if (bare := _without_aliases(texts)) is not None:
        return bare
    parted = [_PREFIX.match(text) for text in texts]
    counts = Counter(fold(found[1]) for found in parted if found)
    named = sum(bool(text) for text in texts)
    harmless = {
        prefix
        for prefix, count in counts.items()
        if count >= _FEWEST and _is_harmless(prefix, count >= _MOSTLY * named)
    }
    return [
        found[2] if found and (fold(found[1]) in harmless or _is_of_words(found, counts)) else None
        for found in parted
    ]


def _without_aliases(texts: Sequence[str]) -> list[str | None] | None:
    """`p.full_name`, `m.carry_yd`: names of columns behind short names of their tables.

    None unless all headings are written so, with two such names or one that is no word.
    """
    found = [_ALIAS.match(text) for text in texts if text]
    if len(found) < _FEWEST_ALIASED or not all(found):
        return None
    aliases = {alias[1] for alias in found if alias}
    lasting = len(aliases) < len(found)  # each stands before several, or one before all
    return [a[2] if (a := _ALIAS.match(text)) else None for text in texts] if lasting else None


def _is_of_words(found: re.Match[str], counts: Counter[str]) -> bool:
    """`meta.athlete.name`: what no column of numbers bears can be no goal and no mean."""
    best = read_heading(found[2]).best
    unknown = any(unread for _, unread in tag_readings(words_in(found[1])))
    return (
        (unknown or fold(found[1]) in words_of("table_words"))
        and counts[fold(found[1])] >= _FEWEST
        and best is not None
        and column_dimension(best.column) is None
    )


def _is_harmless(prefix: str, of_all: bool) -> bool:
    if prefix in words_of("instruments"):
        return True
    tags, unknown = next(iter(tag_readings(words_in(prefix))), (frozenset(), ()))
    return of_all if unknown else tags <= _PARTS
