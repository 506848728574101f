"""Words of the trade, one data file a language; add a language by adding a file."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any

LANGUAGES = ("en", "de", "fr", "es", "sv", "it", "nl", "pt", "da")


@cache
def vocabulary(language: str) -> dict[str, Any]:
    """The words of one language as its data file has them.

    Parameters
    ----------
    language : str
        Two-letter code.

    Returns
    -------
    dict
        Tables of the file; read once, not to be changed.
    """
    file = resources.files("rangeledger.schemas.vocabulary").joinpath(f"{language}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8"))
