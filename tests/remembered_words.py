"""Forgetting what words meant in earlier exports, so that an export is read as at first sight."""

from __future__ import annotations

import gc
from functools import _lru_cache_wrapper, cache
from typing import Any


@cache
def _kept() -> list[Any]:
    """All that keeps what words mean; the vocabularies, which are kept for good, are none."""
    found = [kept for kept in gc.get_objects() if isinstance(kept, _lru_cache_wrapper)]
    return [kept for kept in found if kept.cache_info().maxsize is not None]


def forget_words() -> None:
    """Forget what words meant in earlier exports; the reader must have been imported."""
    for kept in _kept():
        kept.cache_clear()
