"""A short life of a home that is killed again and again; `lives.py` has the long one."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pipelines.lives import live
from tests.pipelines.remembering import remember_reading_and_fits


@pytest.mark.slow
@pytest.mark.parametrize("kills", [5, pytest.param(30, marks=pytest.mark.long)])
def test_loads_readings_again_renamings_and_removals_survive_kills(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kills: int
) -> None:
    remember_reading_and_fits(monkeypatch)
    assert live(tmp_path, kills) == []
