from __future__ import annotations

from collections import namedtuple
from pathlib import Path

import pytest
from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.main import app
from rangeledger.pipelines.running import ledger
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.exports_text import seven_irons


@pytest.fixture
def loaded(home: Home) -> Home:
    for name in ("Ada Brook", "Emil Vasse"):
        (home.inbox / f"{name}.csv").write_text(seven_irons(name))
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    return home


def problems(home: Home) -> dict[str, str]:
    return {f.looked_at: f"{f.found} | {f.to_do}" for f in check_up(home) if not f.ok}


def test_a_sound_home_has_no_problem_and_exit_status_0(loaded: Home) -> None:
    assert problems(loaded) == {}
    answer = CliRunner().invoke(app, ["--home", str(loaded.root), "checkup"])
    assert answer.exit_code == 0
    assert "2 originals, bytes as loaded" in answer.output


def test_changed_and_missing_originals_are_found(loaded: Home) -> None:
    first, second = sorted(loaded.archive.rglob("*.csv"))
    first.write_text("other bytes")
    second.unlink()
    assert "1 originals missing, 1 changed" in problems(loaded)["archive"]
    answer = CliRunner().invoke(app, ["--home", str(loaded.root), "checkup"])
    assert answer.exit_code == 3


def test_a_lake_that_lost_files_or_markers_is_found(loaded: Home) -> None:
    (shots,) = loaded.lake.rglob("shots/*/*.parquet")
    there = shots.read_bytes()
    shots.unlink()
    assert "is missing | Run 'rangeledger heal'" in problems(loaded)["lake"]
    shots.with_name("00000007.parquet").write_bytes(there)
    assert "1 files without one" in problems(loaded)["lake"]


def test_a_published_database_that_lags_or_is_damaged_is_found(loaded: Home) -> None:
    (loaded.inbox / "s.csv").write_text(seven_irons("Third"))
    ledger.load_plainly(loaded, inbox.waiting(loaded))
    assert "behind" in problems(loaded)["published database"]
    ledger.complete(loaded)
    assert problems(loaded) == {}
    loaded.database.write_bytes(b"no database")
    assert "rebuild" in problems(loaded)["published database"]


def test_leftovers_settings_versions_and_space_are_found(
    loaded: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    (loaded.inbox / "alone.toml").write_text("")
    assert "alone.toml" in problems(loaded)["leftovers"]
    staged = loaded.inbox / ".offered-1-dead" / "1"
    staged.mkdir(parents=True)
    assert ".offered-1-dead" in problems(loaded)["leftovers"]
    loaded.settings_file.write_text("zone = 3 4")
    assert "settings.toml, line 1" in problems(loaded)["settings"]
    loaded.version_file.write_text('{"home_version": 99}')
    assert "newer rangeledger" in problems(loaded)["versions"]
    usage = namedtuple("usage", "total used free")
    monkeypatch.setattr("shutil.disk_usage", lambda _: usage(1, 1, 1000))
    assert "Free space" in problems(loaded)["free space"]


def test_no_home_is_told(tmp_path: Path) -> None:
    answer = CliRunner().invoke(app, ["--home", str(tmp_path / "none"), "checkup"])
    assert answer.exit_code == 2
    assert not (tmp_path / "none").exists()
