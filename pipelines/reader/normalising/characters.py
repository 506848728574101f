"""Characters that look alike, brought to one form before text is parsed."""

from __future__ import annotations

import polars as pl

_MINUS = "−–‒﹣－—‐‑"
_SPACES = "\u00a0\u202f\u2009\u2007\u2002\u2003\u2008\u200a\u3000\t"
_APOSTROPHES = "’‘′´`ʼ"
_DOUBLE_QUOTES = "″“”"
_INVISIBLE = "\u200b\u200e\u200f\ufeff\u2060\u00ad"

_TABLE: dict[str, str] = {
    **dict.fromkeys(_MINUS, "-"),
    **dict.fromkeys(_SPACES, " "),
    **dict.fromkeys(_APOSTROPHES, "'"),
    **dict.fromkeys(_DOUBLE_QUOTES, '"'),
    **dict.fromkeys(_INVISIBLE, ""),
    "º": "°",
    "˚": "°",
    "＋": "+",
}
_TRANSLATION = str.maketrans(_TABLE)


def plain_characters(text: str) -> str:
    """Text with one kind of minus, space, apostrophe, quote and degree sign, stripped."""
    return text.translate(_TRANSLATION).strip()


def plain_expression(text: pl.Expr) -> pl.Expr:
    """`plain_characters` of a column of text."""
    return text.str.replace_many(list(_TABLE), list(_TABLE.values())).str.strip_chars()
