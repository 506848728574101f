"""Originals in the archive of a home, named by content hash."""

from __future__ import annotations

from pathlib import Path

from rangeledger.warehouse.home import Home


def archived(home: Home, source_file: str) -> Path | None:
    """The archived original of a content hash, if it is there."""
    found = (home.archive / source_file[:2]).glob(f"{source_file}.*")
    return next((p for p in sorted(found) if not p.name.endswith(".note.toml")), None)
