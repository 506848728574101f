"""What the commands share: the home they work on, the options for formats and for the air."""

from __future__ import annotations

import math
from typing import Annotated

import typer

from pipelines.printing import Format
from schemas.columns import BY_NAME
from schemas.errors import UsageError
from warehouse.home import Home, find_home, open_home

FormatOption = Annotated[
    Format, typer.Option("--format", help="How rows are printed on standard output.")
]
AirTempOption = Annotated[
    float | None, typer.Option(help="Air temperature [degC]; else 23.9.", show_default=False)
]
AirPressureOption = Annotated[
    float | None,
    typer.Option(
        help="Station pressure, not reduced to sea level [hPa]; else from the altitude.",
        show_default=False,
    ),
]
HumidityOption = Annotated[
    float | None, typer.Option(help="Relative humidity [%]; else 50.", show_default=False)
]
AltitudeOption = Annotated[
    float | None, typer.Option(help="Height above sea level [m]; else 0.", show_default=False)
]


def home_of(context: typer.Context) -> Home:
    """Home named before the command, else by the environment, else the default; opened."""
    return open_home(find_home(context.obj))


def is_excluded(home: Home, session_id: str) -> bool | None:
    """Whether the user has left a session out; None where nothing published tells of it."""
    from warehouse.published import published

    if not home.database.exists():
        return None
    with published(home) as connection:
        row = connection.execute(
            "SELECT excluded FROM sessions WHERE session_id = $1", [session_id]
        ).fetchone()
    return None if row is None else bool(row[0])


def refuse_impossible(**values: float | None) -> None:
    """Refuse a value that can't belong to a golf shot, by the ranges of the canonical columns.

    Raises
    ------
    UsageError
        Naming the option, its value and the range.
    """
    for name, value in values.items():
        column = BY_NAME[name]
        low = 0.0 if name == "spin_rate_rpm" else (column.low or 0.0)
        high = math.inf if column.high is None else column.high
        if value is not None and not low <= value <= high:
            raise UsageError(
                f"--{name.replace('_', '-')} {value:g} can't be; "
                f"give {low:g} to {high:g} {column.unit}."
            )
