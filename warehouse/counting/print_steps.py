"""In which steps an export prints a quantity: yards with one decimal, whole miles an hour.

Two exports of one shot agree within half a step of each, whatever their units. The steps are found
from the values alone, so that they hold for every export of the lake: a column printed with one
decimal in yards consists of multiples of 0.09144 m, and of those of no coarser step.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from rangeledger.schemas.columns import BY_NAME, CONDITIONS, NUMBERS

if TYPE_CHECKING:
    import polars as pl
    from duckdb import DuckDBPyConnection

# What the device measured makes a shot the same; club, air and notes may have been corrected.
MEASURED: Final = tuple(name for name in NUMBERS if name not in CONDITIONS)
# Units in which a quantity is printed, in its SI unit: NIST SP 811, appendix B.8; a knot is
# 1852/3600 m/s (SP 811, table 9). Angles and turning are printed in one unit only.
_PRINTED_IN: Final[dict[str, tuple[float, ...]]] = {
    "m": (1.0, 0.9144, 0.3048, 0.0254),
    "m/s": (1.0, 0.44704, 1.0 / 3.6, 1852.0 / 3600.0, 0.3048),
}
# Whole numbers down to three decimals; turning is often rounded to tens, and to fifties.
_DECIMALS: Final = (1.0, 0.1, 0.01, 0.001)
_ROUNDED: Final = {"rpm": (100.0, 50.0, 10.0)}
# A step for columns that no printing explains, such as spin that was reckoned from two others:
# about what a whole yard, a mile an hour, half a degree leave open. Common practice, no source.
_UNEXPLAINED: Final = {"m": 1.0, "m/s": 0.5, "deg": 0.5, "rpm": 20.0, "s": 0.1}
# Values are stored to 15 digits, so a multiple of a step is one within far less than this.
_WHOLE: Final = 1e-6


def steps_of_unit(unit: str) -> list[float]:
    """Steps in which a quantity of an SI unit may be printed [that unit], the coarsest first."""
    units = _PRINTED_IN.get(unit, (1.0,))
    decimal = [one * decimals for one in units for decimals in _DECIMALS]
    return sorted({*_ROUNDED.get(unit, ()), *decimal}, reverse=True)


def print_steps(connection: DuckDBPyConnection, exports: Sequence[str]) -> pl.DataFrame:
    """The step in which each export prints each measured quantity.

    Parameters
    ----------
    connection : duckdb.DuckDBPyConnection
        The writer's database.
    exports : sequence of str
        Content hashes.

    Returns
    -------
    polars.DataFrame
        `source_file` and, under each measured column's name, the coarsest step [SI] of which all
        its values are multiples; what is left open, with a minus, where no printing explains them.
    """
    columns = ", ".join(f"{_coarsest(name)} AS {name}" for name in MEASURED)
    return connection.execute(
        f"SELECT source_file, {columns} FROM ledger.shots "
        "WHERE source_file IN (SELECT unnest($1)) GROUP BY source_file",
        [list(exports)],
    ).pl()


def _coarsest(name: str) -> str:
    """SQL for the coarsest step of a column."""
    unit = BY_NAME[name].unit
    cases = " ".join(
        f"WHEN bool_and(abs({name} / {step!r} - round({name} / {step!r})) < {_WHOLE}) THEN {step!r}"
        for step in steps_of_unit(unit)
    )
    return f"CASE {cases} ELSE {-_UNEXPLAINED[unit]!r} END"
