"""The language of the headings, where their words belong to one language only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from rangeledger.pipelines.reader.recognising.words.heading import Heading
from rangeledger.pipelines.reader.recognising.words.heading_tags import words_in
from rangeledger.schemas.headings import heading_words


def language_of(tables: Iterable[Sequence[Heading]]) -> str | None:
    """Language that most of the telling words belong to.

    Parameters
    ----------
    tables : iterable of sequence of Heading
        Headings of the file's tables.

    Returns
    -------
    str or None
        Two-letter code, None where the words are common to several languages.
    """
    votes: defaultdict[str, float] = defaultdict(float)
    languages = heading_words().languages
    for headings in tables:
        for heading in headings:
            for word in words_in(heading.text):
                found = languages.get((word,), frozenset())
                for language in found:
                    votes[language] += 1.0 / len(found) ** 2
    ranked = sorted(votes.items(), key=lambda vote: vote[1], reverse=True)[:2]
    if not ranked or (len(ranked) == 2 and ranked[0][1] < 1.2 * ranked[1][1]):
        return None
    return ranked[0][0]
