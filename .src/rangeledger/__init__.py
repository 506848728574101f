"""Golf launch data in; carry and dispersion that a coach and a player can trust out.

The names below are all that a notebook needs; each is imported when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rangeledger.models.calibration.still_air import still_air
    from rangeledger.models.flight.trajectory import fly
    from rangeledger.pipelines.front_door.exports import read_export
    from rangeledger.pipelines.front_door.homes import ask, load_exports, open_home
    from rangeledger.pipelines.front_door.players import fit_player, next_shots
    from rangeledger.pipelines.front_door.strokes import expected_strokes
    from rangeledger.schemas.errors import ExportError, RangeledgerError
    from rangeledger.warehouse.home import Home

# Where each name lives, so that importing the package imports none of it.
_PLACES = {
    "ExportError": "schemas.errors",
    "Home": "warehouse.home",
    "RangeledgerError": "schemas.errors",
    "ask": "pipelines.front_door.homes",
    "expected_strokes": "pipelines.front_door.strokes",
    "fit_player": "pipelines.front_door.players",
    "fly": "models.flight.trajectory",
    "load_exports": "pipelines.front_door.homes",
    "next_shots": "pipelines.front_door.players",
    "open_home": "pipelines.front_door.homes",
    "read_export": "pipelines.front_door.exports",
    "still_air": "models.calibration.still_air",
}
__all__ = [
    "ExportError", "Home", "RangeledgerError", "ask", "expected_strokes", "fit_player", "fly",
    "load_exports", "next_shots", "open_home", "read_export", "still_air",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    if name not in _PLACES:
        raise AttributeError(f"module 'rangeledger' has no attribute {name!r}")
    return getattr(import_module(f"rangeledger.{_PLACES[name]}"), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *_PLACES})
