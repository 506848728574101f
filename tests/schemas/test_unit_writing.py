"""Units by algebra. Symbols and factors: NIST SP 811 (2008); words: common practice, no source."""

from __future__ import annotations

import pytest
from rangeledger.schemas.unit_writing import unit_symbols
from rangeledger.schemas.units import UNITS
from rangeledger.schemas.vocabulary import LANGUAGES, vocabulary

# Metres a second, kilometres an hour, turns a minute and yards, written out in every language.
WRITTEN_OUT = {
    "en": ("metres per second", "kilometres an hour", "revolutions per minute", "yards"),
    "de": ("Meter pro Sekunde", "Kilometer je Stunde", "Umdrehungen pro Minute", "Yards"),
    "fr": ("mètres par seconde", "kilomètres à l'heure", "tours par minute", "verges"),
    "es": ("metros por segundo", "kilómetros por hora", "revoluciones por minuto", "yardas"),
    "it": ("metri al secondo", "chilometri orari", "giri al minuto", "iarde"),
    "pt": ("metros por segundo", "quilômetros por hora", "rotações por minuto", "jardas"),
    "nl": ("meter per seconde", "kilometer per uur", "omwentelingen per minuut", "yards"),
    "sv": ("meter per sekund", "kilometer i timmen", "varv per minut", "yards"),
    "da": ("meter per sekund", "kilometer i timen", "omdrejninger per minut", "yards"),
}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_writes_units_out(language: str) -> None:
    read = [unit_symbols(text) for text in WRITTEN_OUT[language]]
    assert read == [("m/s",), ("km/h",), ("rpm",), ("yd",)]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_every_kind_of_unit_word(language: str) -> None:
    kinds = {"m", "km", "yd", "ft", "in", "mi", "s", "min", "h", "rev", "deg", "degC", "degF"}
    counts = {"per", "thousand", "hundred", "beside"}
    assert kinds | counts <= vocabulary(language)["unit_words"].keys()


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("m s^-1", "m/s"), ("m·s⁻¹", "m/s"), ("m.s-1", "m/s"), ("m/sec.", "m/s"),
        ("metres each second", "m/s"), ("kilometre/hour", "km/h"),
        ("statute miles per hour", "mph"),
        ("mi/hr", "mph"), ("feet/sec.", "ft/s"), ("min⁻¹", "rpm"), ("1/min", "rpm"),
        ("rev per minute", "rpm"), ("r/min", "rpm"), ("u/min", "rpm"),
        ("thousands of rpm", "krpm"),
        ("x1000 rpm", "krpm"), ("rpm/1000", "krpm"), ("10^3 rev/min", "krpm"), ("10³ rpm", "krpm"),
        ("hundreds of rpm", "100rpm"), ("rad/s", "rad/s"), ("yards per second", "yd/s"),
        ("in yards", "yd"), ("degrees of arc", "deg"), ("deg C", "degC"), ("(mtrs.)", "m"),
    ],
)  # fmt: skip
def test_a_unit_is_read_from_its_parts(text: str, symbol: str) -> None:
    assert unit_symbols(text) == (symbol,)


@pytest.mark.parametrize(
    "text",
    [
        "of",
        "per",
        "1",
        "1000",
        "m/m",
        "yards per yard",
        "total",
        "in metric units",
        "no",
        "V",
        "5 m",
    ],
)
def test_what_is_no_unit_is_none(text: str) -> None:
    assert unit_symbols(text) == ()


@pytest.mark.parametrize(
    ("text", "symbols"),
    [
        ("tr/min, U/min", ("rpm",)),
        ("yd / yards", ("yd",)),
        ("km/h (kph)", ("km/h",)),
        ("yd, m", ()),
    ],
)
def test_a_unit_that_is_said_twice_is_one(text: str, symbols: tuple[str, ...]) -> None:
    assert unit_symbols(text) == symbols


@pytest.mark.parametrize(
    ("text", "symbol", "factor"),
    [
        ("0.1 m/s", "0.1 m/s", 0.1),
        ("0,1 deg", "0.1 deg", 0.1),
        ("dm", "dm", 0.1),
        ("0.1 yd", "0.1 yd", 0.09144),  # a tenth of NIST SP 811's yard
        ("0.01 s", "0.01 s", 0.01),
    ],
)
def test_tenths_and_hundredths_of_a_unit(text: str, symbol: str, factor: float) -> None:
    assert unit_symbols(text) == (symbol,)
    assert UNITS[symbol].factor == pytest.approx(factor)


def test_a_letter_and_its_unit_are_no_rate() -> None:
    assert unit_symbols("t_s") == ()
