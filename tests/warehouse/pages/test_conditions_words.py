"""Wind and air of a session in plain words."""

from __future__ import annotations

from typing import Any

import pytest
from rangeledger.warehouse.pages.conditions_words import air_words, wind_words
from rangeledger.warehouse.pages.units import METRES, YARDS


def session(**known: Any) -> dict[str, Any]:
    names = ("air_temp_c", "altitude_m", "head_wind_mps", "cross_wind_mps")
    return {**dict.fromkeys(names), "wind_source": "assumed-calm", **known}


def test_air_in_the_units_of_the_page() -> None:
    # 12 degC is 53.6 degF, 500 m are 1,640 ft (NIST SP 811).
    row = session(air_temp_c=12.0, altitude_m=500.0)
    assert air_words(row, YARDS) == "54 °F (12 °C), 1,640 ft up"
    assert air_words(row, METRES) == "12 °C, 500 m up"
    assert air_words(session(), YARDS) == "not recorded"
    assert air_words(session(altitude_m=0.0), YARDS) == "not recorded"
    assert air_words(session(altitude_m=-20.0), METRES) == "20 m below the sea"


@pytest.mark.parametrize(
    ("head", "cross", "source", "words"),
    [
        (4.4704, 0.0, "recorded", "10 mph against (recorded)"),
        (
            -4.4704,
            1.34,
            "recovered",
            "10 mph with, 3 mph from the left (worked out from the shots)",
        ),
        (0.0, -2.2352, "recorded", "5 mph from the right (recorded)"),
        (0.1, 0.0, "recorded", "calm (recorded)"),
        (0.0, 0.0, "assumed-calm", "taken as calm, none recorded"),
        (None, None, "recorded", "calm (recorded)"),
    ],
)
def test_wind_in_words(head: float | None, cross: float | None, source: str, words: str) -> None:
    row = session(head_wind_mps=head, cross_wind_mps=cross, wind_source=source)
    assert wind_words(row, YARDS) == words


def test_wind_in_metres_a_second() -> None:
    row = session(head_wind_mps=5.2, cross_wind_mps=0.0, wind_source="recorded")
    assert wind_words(row, METRES) == "5 m/s against (recorded)"
