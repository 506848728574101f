"""Players whose last fit failed: told in `status`, tried again with the next fit of anybody."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically


def _file(home: Home) -> Path:
    return home.state / "fit_faults.json"


def fit_faults(home: Home) -> dict[str, str]:
    """What each player's last fit failed with, of those whose did; empty if all went well."""
    try:
        found = json.loads(_file(home).read_text(encoding="utf-8"))
        return {str(player): str(fault) for player, fault in found.items()}
    except (OSError, ValueError, AttributeError):
        return {}


def leave_fit_faults(home: Home, faults: Mapping[str, str]) -> None:
    """Leave word of the faults of a round of fits, in place of those of the round before."""
    if faults:
        write_atomically(_file(home), json.dumps(dict(faults), ensure_ascii=False))
    elif _file(home).exists():
        _file(home).unlink()


def in_a_sentence(home: Home) -> str:
    """Whose fits failed and what to do, in plain words; empty if none did."""
    faults = fit_faults(home)
    if not faults:
        return ""
    few = ", ".join(f"{player} ({fault})" for player, fault in list(faults.items())[:3])
    more = f" and {len(faults) - 3} more" if len(faults) > 3 else ""
    return (
        f"The fit of {few}{more} failed; what it gave before still stands. "
        f"'rangeledger fit' tries again; if it stays so, report the last entry of "
        f"{home.logs / 'faults.log'}."
    )
