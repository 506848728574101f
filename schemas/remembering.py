"""What words mean, remembered from one export to the next.

Exports of one range have the same headings, units, titles and names of clubs. What these mean
follows from their words alone, so it is found once and kept; what depends on the numbers of a file
is never kept. A remembered layout can therefore change no answer.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import lru_cache, wraps
from typing import Protocol, TypeVar, cast

MOST = 8192
_LONGEST = 400  # characters; what is longer is seldom met again, and would fill the memory


class _Remembering(Protocol):
    """A function whose last answers are kept."""

    def __call__(self, *arguments: Hashable) -> object: ...


_Function = TypeVar("_Function", bound=Callable[..., object])


def remembered(function: _Function) -> _Function:
    """Keep the last answers of a function of words.

    Parameters
    ----------
    function : callable
        Of hashable arguments alone, given by place, the first a text or a sequence of texts; what
        it gives depends on nothing else and is never changed.

    Returns
    -------
    callable
        The same, quick where the same was asked before. Long texts are not kept.
    """
    cached = cast("_Remembering", lru_cache(maxsize=MOST)(function))

    @wraps(function)
    def cached_function(*arguments: Hashable) -> object:
        return cached(*arguments) if _length(arguments[0]) <= _LONGEST else function(*arguments)

    return cast("_Function", cached_function)


def _length(text: object) -> int:
    if isinstance(text, str):
        return len(text)
    return sum(map(_length, text)) if isinstance(text, Sequence) else 0
