"""Cells that say that there is no value, in all languages of the vocabularies."""

from __future__ import annotations

import re

from rangeledger.schemas.words import fold, words_of

_MARKS_ONLY = re.compile(r"^[\s\-–—−.…·_*?/#~:|]*$")
_NULL_OF_DATABASES = r"\N"

# A measured zero in these columns means that the quantity was not measured: no ball leaves the
# club face without spin or speed, and no air is without pressure.
ZERO_IS_MISSING = frozenset(
    {"spin_rate_rpm", "ball_speed_mps", "clubhead_speed_mps", "air_pressure_hpa"}
)


def is_missing(text: str | None) -> bool:
    """Whether a cell says that there is no value: blank, a dash, `n/a`, `saknas`.

    Parameters
    ----------
    text : str or None
        The cell.

    Returns
    -------
    bool
        True for null, blank, marks without letters or digits, and the missing words of all
        languages.
    """
    if text is None or text.strip() == _NULL_OF_DATABASES or _MARKS_ONLY.match(text):
        return True
    return fold(text) in words_of("missing")
