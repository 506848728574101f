"""A short life of a home that is killed again and again; `lives.py` has the long one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.lives import live


@pytest.mark.slow
def test_loads_readings_again_renamings_and_removals_survive_kills(tmp_path: Path) -> None:
    assert live(tmp_path, kills=6) == []
