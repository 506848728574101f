"""Letters without case and accents, in which the words of all vocabularies are compared."""

from __future__ import annotations

import unicodedata

_LETTERS_WITHOUT_ACCENT = str.maketrans(
    {"ß": "ss", "œ": "oe", "æ": "ae", "ø": "o", "’": "'", "º": "°", "˚": "°"}
)


def plain(text: str) -> str:
    """Text in lower case without accents; punctuation stays."""
    lowered = unicodedata.normalize("NFKD", text.casefold().translate(_LETTERS_WITHOUT_ACCENT))
    return "".join(c for c in lowered if not unicodedata.combining(c))
