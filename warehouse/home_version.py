"""The version of the layout of a home and its lake."""

from __future__ import annotations

import json

from rangeledger.schemas.errors import HomeError
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically

HOME_VERSION = 2


def home_version(home: Home) -> int:
    """Version of the home's layout; 0 where none is stated."""
    try:
        return int(json.loads(home.version_file.read_text())["home_version"])
    except FileNotFoundError:
        return 0
    except (ValueError, KeyError, TypeError) as error:
        raise HomeError(
            f'{home.version_file} is damaged. Put back {{"home_version": {HOME_VERSION}}} '
            "if this home was made by this version."
        ) from error


def write_home_version(home: Home, version: int = HOME_VERSION) -> None:
    """State the version of a home, durably."""
    write_atomically(home.version_file, json.dumps({"home_version": version}))
