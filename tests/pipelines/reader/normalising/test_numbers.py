"""Numbers of cells: every way of writing a number gives it back, or is reported."""

from __future__ import annotations

import math

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.pipelines.reader.normalising.directed import directed
from rangeledger.pipelines.reader.normalising.number_format import (
    NumberFormat,
    detect_number_format,
)
from rangeledger.pipelines.reader.normalising.numbers import parse_numbers

POINT = NumberFormat(".", ",")
COMMA = NumberFormat(",", ".")


def _one(
    cell: str, number_format: NumberFormat = POINT
) -> tuple[float | None, str | None, str | None]:
    numbers = parse_numbers(pl.Series([cell]), number_format)
    assert not numbers.bad[0]
    unit = numbers.unit[0] if numbers.unit is not None else None
    side = numbers.side[0] if numbers.side is not None else None
    return numbers.value[0], unit, side


@pytest.mark.parametrize(
    ("cell", "value", "unit"),
    [
        ("152.3 yd", 152.3, "yd"), ("90 mph", 90.0, "mph"), ("19.1°", 19.1, "°"),
        ("5071 rpm", 5071.0, "rpm"), ("12'6\"", 12.5, "ft"), ("12′ 6″", 12.5, "ft"),
        ("12 ft 6 in", 12.5, "ft"), ("61 ft", 61.0, "ft"), ("61'", 61.0, "'"),
        ("5,071 rpm", 5071.0, "rpm"), ("44.7 m/s", 44.7, "m/s"), ("160 km/h", 160.0, "km/h"),
        ("55 %", 55.0, "%"), ("-3.1", -3.1, None), ("−3.1", -3.1, None), ("–3.1°", -3.1, "°"),
        ("3.1-", -3.1, None), ("(3.1)", -3.1, None), ("+4", 4.0, None), ("- 4", -4.0, None),
        ("1e3", 1000.0, None), ("1.5E-2", 0.015, None), (".5", 0.5, None), ("5.", 5.0, None),
        ("1 234", 1234.0, None), ("1\u202f234.5", 1234.5, None), ("1'234.5", 1234.5, None),
        ("1,234,567", 1234567.0, None), ("  5.5\u00a0", 5.5, None), ("'5", 5.0, None),
        ("152.3*", 152.3, None), ("~6400", 6400.0, None),
        ("5071 1/min", 5071.0, "1/min"), ("27.7 m s-1", 27.7, "m s-1"),
        ("84 s^-1", 84.0, "s^-1"), ("12.8 degrees", 12.8, "degrees"), ("3 616 v/s", 3616, "v/s"),
    ],
)  # fmt: skip
def test_units_and_signs_in_the_cell(cell: str, value: float, unit: str | None) -> None:
    assert _one(cell) == (value, unit, None)


@pytest.mark.parametrize(
    ("cell", "side"),
    [
        ("3.4 L", "L"), ("L 3.4", "L"), ("3.4L", "L"), ("R3.4", "R"), ("3.4 left", "L"),
        ("3.4 to the right", "R"), ("3.4 links", "L"), ("3.4 rechts", "R"), ("li. 3.4", "L"),
        ("3.4 gauche", "L"), ("3.4 à droite", "R"), ("3.4 G", "L"), ("3.4 izq.", "L"),
        ("3.4 der", "R"), ("izquierda 3.4", "L"), ("3.4 vänster", "L"), ("3.4 höger", "R"),
        ("3.4 H", "R"), ("3.4 V", "L"), ("3.4° R", "R"), ("3.4 yd L", "L"), ("← 3.4", "L"),
        ("3.4 down", "DOWN"), ("3.4 upp", "UP"), ("3.4 sx", "L"), ("3.4 destra", "R"),
        ("3.4 esq.", "L"), ("3.4 direita", "R"), ("3.4 venstre", "L"), ("3.4 højre", "R"),
    ],
)  # fmt: skip
def test_sides_in_many_languages(cell: str, side: str) -> None:
    value, _, found = _one(cell)
    assert (value, found) == (3.4, side)


@pytest.mark.parametrize(
    "cell",
    ["", " ", "-", "--", "—", "…", "?", "N/A", "n/a", "#N/A", "null", "nan", "NaN", "k.A.", "n.d.",
     "s/d", "saknas", "None", "keine Angabe", "non mesuré", "sin dato", "ej mätt", "#DIV/0!"],
)  # fmt: skip
def test_missing_words_are_missing_and_not_bad(cell: str) -> None:
    numbers = parse_numbers(pl.Series([cell, "1.5"]), POINT)
    assert numbers.value.to_list() == [None, 1.5]
    assert numbers.missing.to_list() == [True, False]
    assert not numbers.bad.any()


@pytest.mark.parametrize(
    "cell",
    ["=1+2", "=152.3", "@SUM(A1)", "inf", "-inf", "1e999", "1,23,456", "12.5.3", "0x12",
     "1_000", "12 34", "driver", "3.4 L R", "12'14\"", "5-3", "10:05", "5 = 3", "<3", "--5", "+-5",
     "L -3 R", "1.234,5"],
)  # fmt: skip
def test_what_is_no_number_in_the_format_is_bad(cell: str) -> None:
    numbers = parse_numbers(pl.Series([cell]), POINT)
    assert numbers.value[0] is None
    assert numbers.bad[0]
    assert not numbers.missing[0]


@pytest.mark.parametrize("number_format", [POINT, COMMA, NumberFormat(), NumberFormat(",", " ")])
@given(
    text=st.text(max_size=12)
    | st.from_regex(r"[-+(]?[0-9.,' ]{1,9}[a-zA-Z° ]{0,4}\)?", fullmatch=True)
)
def test_any_text_is_a_finite_number_or_missing_or_bad(
    number_format: NumberFormat, text: str
) -> None:
    numbers = parse_numbers(pl.Series([text], dtype=pl.String), number_format)
    value = numbers.value[0]
    assert (value is not None) + numbers.missing[0] + numbers.bad[0] == 1
    assert value is None or math.isfinite(value)


def _written(value: float, decimals: int, number_format: NumberFormat) -> str:
    text = (
        f"{abs(value):,.{decimals}f}" if number_format.thousands else f"{abs(value):.{decimals}f}"
    )
    swap = {",": number_format.thousands or "", ".": number_format.decimal}
    body = "".join(swap.get(c, c) for c in text)
    return ("-" if value < 0 else "") + body


FORMATS = [
    NumberFormat(decimal, thousands)
    for decimal in ".,"
    for thousands in (None, ".", ",", " ", "\u00a0", "\u202f", "'", "’")
    if thousands != decimal
]


@pytest.mark.parametrize("written_in", FORMATS)
@given(
    values=st.lists(st.floats(-99_999, 99_999, allow_nan=False), min_size=1, max_size=12),
    decimals=st.integers(0, 3),
    unit=st.sampled_from(["", " yd", "°", " m/s"]),
)
def test_a_column_reads_back_in_the_detected_format_or_is_reported(
    written_in: NumberFormat, values: list[float], decimals: int, unit: str
) -> None:
    cells = pl.Series([_written(v, decimals, written_in) + unit for v in values])
    found = detect_number_format([cells])
    exact = [round(v, decimals) for v in values]
    if found.sure:
        numbers = parse_numbers(cells, found)
        assert not numbers.bad.any()
        assert numbers.value.to_list() == pytest.approx(exact, abs=1e-9)
    else:
        assert found.other is not None
        readings = [
            parse_numbers(cells, reading).value.to_list() for reading in (found, found.other)
        ]
        assert any(reading == pytest.approx(exact, abs=1e-9) for reading in readings)


def test_a_pointed_number_in_a_file_with_decimal_commas_is_never_read_as_a_decimal() -> None:
    numbers = parse_numbers(pl.Series(["1.234", "1.23", "2,5"]), COMMA)
    assert numbers.value.to_list() == [1234.0, None, 2.5]
    assert numbers.bad.to_list() == [False, True, False]


def test_directed_turns_sides_into_signs() -> None:
    numbers = directed(parse_numbers(pl.Series(["3.4 L", "2.0 R", "0.0", "-1.0 L", "n/a"]), POINT))
    assert numbers.value.to_list() == [-3.4, 2.0, 0.0, -1.0, None]
    assert not numbers.bad.any()


def test_directed_reports_bare_numbers_among_sides_and_contradictions() -> None:
    numbers = directed(parse_numbers(pl.Series(["3.4 L", "2.0", "-1.0 R"]), POINT))
    assert numbers.value.to_list() == [-3.4, None, None]
    assert numbers.bad.to_list() == [False, True, True]


def test_directed_follows_the_sign_convention_of_the_heading() -> None:
    numbers = directed(parse_numbers(pl.Series(["3.4", "-2.0", "0"]), POINT), sign_of_right=-1)
    assert numbers.value.to_list() == [-3.4, 2.0, 0.0]
    assert math.copysign(1.0, numbers.value[2]) == 1.0


@pytest.mark.parametrize("cell", ["=A1", "=1+1", "@5", "= 12.5"])
def test_a_cell_that_begins_like_a_formula_is_no_number(cell: str) -> None:
    found = parse_numbers(pl.Series(["147.2", cell]))
    assert found.value.to_list() == [147.2, None]
    assert found.bad.to_list() == [False, True]
