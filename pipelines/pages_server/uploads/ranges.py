"""What was said of each range last, so that the form need not be filled in anew."""

from __future__ import annotations

import json
from collections.abc import Mapping

from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically

# The weather is another every day; what belongs to the place is remembered.
_KEPT = ("ball", "surface", "wind_height", "up", "units")
_MOST = 50


class Ranges:
    """Ranges by name.

    Parameters
    ----------
    home : Home
    """

    def __init__(self, home: Home) -> None:
        self._path = home.state / "pages" / "ranges.json"

    def names(self) -> list[str]:
        """Ranges that something was said of, by name."""
        return sorted(self._all())

    def of(self, name: str) -> dict[str, str]:
        """What was said of a range last; blank what was not said."""
        return dict.fromkeys(_KEPT, "") | self._all().get(name, {})

    def keep(self, name: str, fields: Mapping[str, str]) -> None:
        """Remember what was said of a range; the one named longest ago makes room."""
        known = self._all()
        known.pop(name, None)
        known[name] = {field: fields[field] for field in _KEPT if fields.get(field)}
        kept = dict(list(known.items())[-_MOST:])
        write_atomically(self._path, json.dumps(kept, ensure_ascii=False))

    def _all(self) -> dict[str, dict[str, str]]:
        try:
            found = json.loads(self._path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            return {}
        return {str(name): dict(fields) for name, fields in found.items()}
