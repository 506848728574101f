from __future__ import annotations

import pytest
from rangeledger.schemas import units
from rangeledger.schemas.units import UNITS, counted
from scipy import constants

# NIST Special Publication 811 (2008), appendix B.8: exact factors to SI (bold in the table).
NIST_SP_811 = {
    "yd": 0.9144,  # yard (yd) to metre (m)
    "ft": 0.3048,  # foot (ft) to metre (m)
    "in": 0.0254,  # inch (in) to metre (m)
    "mph": 0.44704,  # mile per hour (mi/h) to metre per second (m/s)
    "ft/s": 0.3048,  # foot per second (ft/s) to metre per second (m/s)
}


@pytest.mark.parametrize(("symbol", "factor"), NIST_SP_811.items())
def test_factors_of_nist_sp_811(symbol: str, factor: float) -> None:
    assert UNITS[symbol].factor == pytest.approx(factor, rel=1e-15)


def test_factors_printed_to_seven_digits_in_nist_sp_811() -> None:
    # knot (nautical mile per hour) 5.144444 E-01; kilometre per hour 2.777778 E-01;
    # inch of mercury, conventional, 3.386389 E+03 Pa; millimetre of mercury 1.333224 E+02 Pa;
    # psi 6.894757 E+03 Pa
    assert UNITS["kn"].factor == pytest.approx(0.5144444, abs=5e-8)
    assert UNITS["km/h"].factor == pytest.approx(0.2777778, abs=5e-8)
    assert UNITS["inHg"].factor == pytest.approx(33.86389, abs=5e-6)
    assert UNITS["mmHg"].factor == pytest.approx(1.333224, abs=5e-7)
    assert UNITS["psi"].factor == pytest.approx(68.94757, abs=5e-6)


def test_factors_of_a_general_reference_library() -> None:
    # scipy.constants
    assert units.YARD_M == pytest.approx(constants.yard, rel=1e-15)
    assert units.MPH_MPS == pytest.approx(constants.mph, rel=1e-15)
    assert units.KNOT_MPS == pytest.approx(constants.knot, rel=1e-15)
    assert UNITS["rad"].factor == pytest.approx(1 / constants.degree, rel=1e-15)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (75.0, 23.888889)]
)
def test_fahrenheit(fahrenheit: float, celsius: float) -> None:
    # Definition: NIST SP 811, t/C = (t/F - 32)/1.8; freezing and boiling point of water
    unit = UNITS["degF"]
    assert (fahrenheit + unit.offset) * unit.factor == pytest.approx(celsius, abs=1e-6)


def test_counts_take_their_words_plural_but_for_one() -> None:
    assert [counted(n, "shot") for n in (0, 1, 1250)] == ["0 shots", "1 shot", "1,250 shots"]
