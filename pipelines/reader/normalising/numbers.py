"""Numbers from the cells of an export: value, unit, side, or a report that it is none.

Clean columns are cast at once; only what the cast refuses is looked at, and of that only the
distinct cells. A cell fits the number format of the file, or has the other decimal mark and can be
read in no other way (`table_marks.py` tells), or is reported.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import polars as pl
from rangeledger.pipelines.reader.normalising.around_numbers import (
    SIDES,
    UNIT_ONE,
    around,
    letters_as_sides,
)
from rangeledger.pipelines.reader.normalising.characters import plain_expression
from rangeledger.pipelines.reader.normalising.missing import is_missing
from rangeledger.pipelines.reader.normalising.number_format import NumberFormat, other_decimal
from rangeledger.schemas.words import fold, words_of

_FEET_INCHES = (
    r"^([+-]?)\s*([0-9]+)\s*(?:'|ft\.?|feet|foot)\s*"
    r"([0-9]{1,2}(?:[.,][0-9]+)?)\s*(?:\"|''|in\.?|inch(?:es)?)\s*([^\W\d_]*)$"
)
_UNITS_WITH_ONE = (
    r"([0-9][^0-9]*\s)1(/(?:min|s|sec)\b)",
    r"([0-9][^0-9]*[a-z]\s?\^?-)1([^0-9.,]|$)",
)
# `152.3 ± 0.4`: the value with its error, which is no part of it.
_ERROR = r"\s*(?:±|\+\s?/\s?-|\+-)\s*(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_FRACTIONS = {"½": "5", "¼": "25", "¾": "75", "⅓": "333", "⅔": "667"}
# `45.59(15)`: the same, of the last digits.
_ERROR_OF_DIGITS = r"([0-9])\([0-9]{1,3}\)"
_HEAD = 60
_CELLS_TOGETHER = 20_000
_FEW_CELLS = 64


@dataclass(frozen=True, slots=True)
class Numbers:
    """A column of cells as numbers; every series is as long as the column.

    Parameters
    ----------
    value : pl.Series
        Float64, never NaN nor infinite; null where missing or bad.
    unit : pl.Series or None
        Unit word as the cell writes it, null where it has none; None if no cell has one.
    side : pl.Series or None
        `L`, `R`, `UP`, `DOWN`, `OPEN` or `CLOSED` where the cell says so; None if no cell does.
    missing : pl.Series
        Whether the cell says that there is no value.
    bad : pl.Series
        Whether the cell holds something that is no number in the file's format.
    """

    value: pl.Series
    unit: pl.Series | None
    side: pl.Series | None
    missing: pl.Series
    bad: pl.Series

    @property
    def clean(self) -> bool:
        """Whether every cell is a bare number or missing."""
        return self.unit is None and self.side is None and not self.bad.any()


def without_errors(text: pl.Series) -> pl.Series:
    """Cells without the errors of their values, where the first ones bear any.

    Parameters
    ----------
    text : pl.Series
        Cells as text.

    Returns
    -------
    pl.Series
        `45.59` for `45.59(15)` and for `45.59 ± 0.15`; what bears no error as it is.
    """
    pattern = f"[0-9]{_ERROR}|{_ERROR_OF_DIGITS}(?:[^0-9]|$)"
    if not text.head(_HEAD).str.contains(pattern).any():
        return text
    return text.str.replace(_ERROR, "").str.replace(_ERROR_OF_DIGITS, "$1")


def _pattern(number_format: NumberFormat) -> str:
    decimal = re.escape(number_format.decimal)
    marks = [" ", "'"]
    if number_format.thousands in (".", ",") and number_format.thousands != number_format.decimal:
        marks.append(number_format.thousands)
    grouped = "|".join(rf"[0-9]{{1,3}}(?:{re.escape(mark)}[0-9]{{3}})+" for mark in marks)
    number = rf"(?:{grouped}|[0-9]+)(?:{decimal}[0-9]*)?|{decimal}[0-9]+"
    return rf"^(\(?)([^0-9+\-(]*?)(?:([+-])\s*)?({number})([eE][+-]?[0-9]+)?([^0-9]*)$"


def _plain_text(decimal: str) -> pl.Expr:
    """The cells with one kind of minus, space and quote, and the ones of units set apart."""
    plain = plain_expression(pl.col("text")).str.replace(_ERROR, "")
    for written, digits in _FRACTIONS.items():
        plain = plain.str.replace(rf"\s?{written}", f"{decimal}{digits}")
    for pattern in _UNITS_WITH_ONE:
        plain = plain.str.replace(pattern, f"${{1}}{UNIT_ONE}${{2}}")
    return plain


def _number_value(number_format: NumberFormat) -> pl.Expr:
    """Value of the digits and the exponent of a cell taken apart."""
    digits = pl.col("number").str.replace_all(r"[ ']", "")
    if number_format.thousands in (".", ","):
        digits = digits.str.replace_all(number_format.thousands, "", literal=True)
    digits = digits.str.replace(number_format.decimal, ".", literal=True)
    digits = digits.str.replace(r"\.$", "").str.replace(r"^\.", "0.")
    return (digits + pl.col("exponent").fill_null("")).cast(pl.Float64, strict=False)


def _parse_unique(text: pl.Series, number_format: NumberFormat) -> pl.DataFrame:
    """Value, unit and side of distinct cells; all null where a cell doesn't fit the format."""
    names = ["open", "lead", "sign", "number", "exponent", "tail"]
    taken_apart = pl.col("plain").str.extract_groups(_pattern(number_format))
    frame = (
        pl.LazyFrame({"text": text})
        .with_columns(plain=_plain_text(number_format.decimal))
        .with_columns(parts=taken_apart.struct.rename_fields(names))
        .unnest("parts")
        .with_columns(
            value=_number_value(number_format),
            feet_and_inches=pl.col("plain").str.contains(_FEET_INCHES),
        )
        .collect(engine="in-memory")
    )
    known = pl.col("value").is_finite()
    return _with_feet_and_inches(_with_words(frame)).select(
        "text", *(pl.when(known).then(name).alias(name) for name in ("value", "unit", "side"))
    )


def _parse_in_either_mark(text: pl.Series, number_format: NumberFormat) -> pl.DataFrame:
    """`_parse_unique`, and cells with the other decimal mark where that is the only reading."""
    parsed = _parse_unique(text, number_format)
    other, pattern = other_decimal(number_format)
    if number_format.thousands == other.decimal:  # `1.23` where thousands are parted by points
        return parsed
    left = parsed.filter(pl.col("value").is_null(), pl.col("text").str.contains(pattern))
    if left.is_empty():
        return parsed
    return parsed.update(_parse_unique(left["text"], other), on="text")


def _with_words(frame: pl.DataFrame) -> pl.DataFrame:
    """Add unit and side from the words around the number; null the value where not understood."""
    words = frame.select("open", "lead", "tail", "sign").unique()
    rows = [around(*row) for row in words.iter_rows()]
    schema = {
        "factor": pl.Float64,
        "unit": pl.String,
        "side": pl.String,
    }
    meaning = pl.DataFrame(rows, schema=schema, orient="row")
    joined = frame.join(
        words.hstack(meaning),
        on=["open", "lead", "tail", "sign"],
        how="left",
        nulls_equal=True,
        maintain_order="left",
    )
    return joined.with_columns(pl.col("value") * pl.col("factor"))


def _with_feet_and_inches(frame: pl.DataFrame) -> pl.DataFrame:
    """Read `12'6"` as 12.5 ft."""
    if not frame["feet_and_inches"].any():
        return frame
    found = frame["plain"].str.extract_groups(_FEET_INCHES).struct.unnest()
    sign, feet, inches, behind = (found[name] for name in found.columns)
    inch = inches.str.replace(",", ".", literal=True).cast(pl.Float64)
    total = (feet.cast(pl.Float64) + inch / 12.0) * sign.replace_strict(
        {"-": -1.0}, default=1.0, return_dtype=pl.Float64
    )
    sides = {
        word: SIDES.get(words_of("sides").get(fold(word), "")) for word in behind.unique() if word
    }
    stated_side = behind.replace_strict(sides, default=None, return_dtype=pl.String)
    strange = (behind != "").fill_null(False) & stated_side.is_null()
    total = pl.select(pl.when((inch < 12.0) & ~strange).then(total)).to_series()
    return frame.with_columns(
        value=pl.coalesce(total, "value"),
        unit=pl.when(total.is_not_null()).then(pl.lit("ft")).otherwise("unit"),
        side=pl.when(total.is_not_null()).then(stated_side).otherwise("side"),
    )


def plain_values(texts: Sequence[pl.Series], decimal: str) -> list[pl.Series]:
    """The cells that a plain cast reads rightly with this decimal mark, null for all others.

    Parameters
    ----------
    texts : sequence of pl.Series
        Columns of equal length, cells as text.
    decimal : str
        Decimal mark.

    Returns
    -------
    list of pl.Series
        Float64, one a column.
    """
    frame = pl.DataFrame([text.alias(str(place)) for place, text in enumerate(texts)])
    cells = pl.all()
    if decimal != ".":
        pointed = cells.str.replace(decimal, ".", literal=True)
        cells = pl.when(~cells.str.contains(".", literal=True)).then(pointed)
    values = frame.select(cells.cast(pl.Float64, strict=False))
    finite = values.select(pl.all().is_finite().all()).row(0)
    return [
        value if good else value.set(~value.is_finite(), None)
        for value, good in zip(values, finite, strict=True)
    ]


def parse_numbers(text: pl.Series, number_format: NumberFormat | None = None) -> Numbers:
    """Numbers of a column of cells; `parse_columns` for several at once.

    Parameters
    ----------
    text : pl.Series
        Cells as text; null is missing.
    number_format : NumberFormat or None
        Marks of the file; decimal point without thousands marks by default.

    Returns
    -------
    Numbers
        Value, unit word, side, missing and bad, cell by cell. A side leaves the sign of the value
        as written; `directed` joins the two.

    Notes
    -----
    `L` and `R` are read in all languages (`links`, `gauche`, `izq`, `höger`), before or
    behind the number. A trailing minus and parentheses make a number negative. Cells that begin
    like a formula are bad, as are NaN, infinities and numbers whose marks don't fit the format.
    """
    return parse_columns([text], number_format)[0]


def parse_columns(
    texts: Sequence[pl.Series],
    number_format: NumberFormat | None = None,
    *,
    plain: Sequence[pl.Series] | None = None,
) -> list[Numbers]:
    """Numbers of several columns of one table.

    Parameters
    ----------
    texts : sequence of pl.Series
        Columns of equal length; cells as text, null is missing.
    number_format : NumberFormat or None
        Marks of the file; decimal point without thousands marks by default.
    plain : sequence of pl.Series, optional
        `plain_values` of the columns with the format's decimal mark, where they are at hand.

    Returns
    -------
    list of Numbers
        One a column, as `parse_numbers` gives it.
    """
    if not texts:
        return []
    number_format = number_format or NumberFormat()
    texts = [text.cast(pl.String) for text in texts]
    values = plain_values(texts, number_format.decimal) if plain is None else plain
    none = pl.repeat(False, len(texts[0]), eager=True)
    found = [
        Numbers(
            value.alias(text.name), None, None, text.is_null() if text.has_nulls() else none, none
        )
        for text, value in zip(texts, values, strict=True)
    ]
    left = [k for k, text in enumerate(texts) if values[k].null_count() != text.null_count()]
    # Short columns are taken apart together: a call of polars costs more than their cells.
    together = max(1, _CELLS_TOGETHER // max(1, len(none)))
    for few in (left[k : k + together] for k in range(0, len(left), together)):
        parsed = _taken_apart([texts[k] for k in few], [values[k] for k in few], number_format)
        for k, numbers in zip(few, parsed, strict=True):
            found[k] = numbers
    return found


@lru_cache(maxsize=1024)
def _parse_few(cells: tuple[str, ...], decimal: str, thousands: str | None) -> pl.DataFrame:
    """`_parse_unique` of cells that come again from file to file: clubs, words for no value."""
    text = pl.Series(cells, dtype=pl.String)
    return _parse_in_either_mark(text, NumberFormat(decimal, thousands))


def _taken_apart(
    texts: Sequence[pl.Series], values: Sequence[pl.Series], number_format: NumberFormat
) -> list[Numbers]:
    """Numbers of columns with cells that a cast does not read."""
    text, value = pl.concat([t.alias("") for t in texts]), pl.concat([v.alias("") for v in values])
    left = value.is_null() & text.is_not_null()
    cells = text.filter(left).unique()
    if len(cells) <= _FEW_CELLS:
        marks = number_format.decimal, number_format.thousands
        parsed = _parse_few(tuple(cells.sort().to_list()), *marks)
    else:
        parsed = _parse_in_either_mark(cells, number_format)
    absent = [word for word in parsed.filter(pl.col("value").is_null())["text"] if is_missing(word)]
    joined = _assembled(text, value, left, parsed, absent)
    length = len(texts[0])
    return [
        _numbers(joined.slice(k * length, length), text.name, text) for k, text in enumerate(texts)
    ]


def _assembled(
    text: pl.Series, fast: pl.Series, left: pl.Series, parsed: pl.DataFrame, absent: list[str]
) -> pl.DataFrame:
    """Put the parsed distinct cells back in their rows."""
    looked_up = pl.when("left").then("text")
    return (
        pl.LazyFrame({"text": text, "fast": fast, "left": left})
        .with_columns(key=looked_up, missing=pl.col("text").is_null() | looked_up.is_in(absent))
        .join(parsed.lazy().rename({"text": "key"}), on="key", how="left", maintain_order="left")
        .with_columns(value=pl.coalesce("fast", "value"))
        .with_columns(bad=pl.col("value").is_null() & ~pl.col("missing"))
        .select(
            "value",
            "unit",
            "side",
            pl.col("missing").fill_null(False),
            pl.col("bad").fill_null(True),
        )
        .collect(engine="in-memory")
    )


def _with_straight(rows: pl.DataFrame, text: pl.Series) -> pl.DataFrame:
    """Zero for the words that say `straight` in a column that else says left and right."""
    cells = text.filter(rows["bad"]).unique().to_list()
    straight_words = [cell for cell in cells if cell and fold(cell) in words_of("straight")]
    straight = rows["bad"] & text.is_in(straight_words).fill_null(False)
    return rows.with_columns(
        value=pl.select(pl.when(straight).then(0.0).otherwise(rows["value"])).to_series(),
        bad=rows["bad"] & ~straight,
    )


def _numbers(rows: pl.DataFrame, name: str, text: pl.Series) -> Numbers:
    """One column of what `_assembled` gave for several."""
    unit, side = rows["unit"], rows["side"]
    letters = letters_as_sides(unit, side) if unit.null_count() < len(unit) else {}
    if letters:
        spelt = {word: stated for word, (_, stated) in letters.items()}
        stated = unit.replace_strict(spelt, default=None, return_dtype=pl.String)
        unit = unit.replace({word: own for word, (own, _) in letters.items()})
        side = pl.select(pl.coalesce(side, stated)).to_series()
    if side.null_count() < len(side) and rows["bad"].any():
        rows = _with_straight(rows, text)
    return Numbers(
        rows["value"].alias(name),
        None if unit.null_count() == len(unit) else unit,
        None if side.null_count() == len(side) else side,
        rows["missing"],
        rows["bad"],
    )
