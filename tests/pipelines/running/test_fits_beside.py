from __future__ import annotations

import os
from collections.abc import Iterator

import polars as pl
import pytest
from polars.testing import assert_frame_equal
from rangeledger.models.players.player_fit import PlayerFacts, fit_player
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.reader.prepare import prepare_export
from rangeledger.pipelines.running import fits_beside, ledger
from rangeledger.pipelines.running.fits_beside import FitsBeside, fitting_beside
from rangeledger.sample_exports import sample_files
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.pipelines.service.running import query


@pytest.fixture
def beside() -> Iterator[FitsBeside]:
    """Processes that fit."""
    with fitting_beside():
        found = fits_beside.fits_beside()
        assert found is not None
        yield found
    assert fits_beside.fits_beside() is None


@pytest.fixture(scope="module")
def shots() -> pl.DataFrame:
    """Shots of an invented player."""
    sample = next(file for file in sample_files() if file.suffix == ".csv")
    return prepare_export(sample).shots.with_columns(excluded=False)


def test_fits_made_beside_are_those_made_here(beside: FitsBeside, shots: pl.DataFrame) -> None:
    found, expected = beside.fit(shots, PlayerFacts()), fit_player(shots, PlayerFacts())
    assert found is not None
    assert list(found) == list(expected)
    for name, rows in expected.items():
        assert_frame_equal(found[name], rows, check_exact=True)


def test_what_can_not_be_fitted_beside_is_left_to_who_asks(
    beside: FitsBeside, shots: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert beside.fit(shots.drop("carry_m"), PlayerFacts()) is None  # a fault
    with monkeypatch.context() as patch:
        patch.setattr(fits_beside, "_MOST_SHOTS", shots.height - 1)
        assert beside.fit(shots, PlayerFacts()) is None
    assert beside.fit(shots, PlayerFacts()) is not None
    beside._submit(os._exit, 1).exception()
    assert beside.fit(shots, PlayerFacts()) is None


def test_a_load_is_fitted_though_the_processes_beside_have_ended(
    home: Home, beside: FitsBeside
) -> None:
    beside._submit(os._exit, 1).exception()
    (home.inbox / "a.csv").write_text(seven_irons())
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    assert query(home, "SELECT shots FROM carry_by_club").rows() == [(6,)]
