"""DuckDB's extensions as they come with Python packages, without a download."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import duckdb
import pytest


def load_extension(connection: duckdb.DuckDBPyConnection, name: str) -> None:
    """Load an extension; skips the test where its package is not installed."""
    found = importlib.util.find_spec(f"duckdb_extension_{name}")
    if found is None or found.submodule_search_locations is None:
        pytest.skip("needs the extra [fleet]")
    (library,) = Path(found.submodule_search_locations[0]).rglob(f"{name}.duckdb_extension")
    connection.execute(f"LOAD '{library}'")
