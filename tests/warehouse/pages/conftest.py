from __future__ import annotations

import pytest
from rangeledger.warehouse.home import Home

from tests.made_home import make_home


@pytest.fixture(scope="session")
def made_home(tmp_path_factory: pytest.TempPathFactory) -> Home:
    """A home with two invented players; tests only read it."""
    return make_home(tmp_path_factory.mktemp("made"))
