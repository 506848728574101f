from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest
from rangeledger.pipelines.service.soundness import check_up
from rangeledger.warehouse import publishing
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home
from rangeledger.warehouse.who_reads import who_reads

from tests.warehouse.serving.clients import publish


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_new_home_is_its_owners_alone(home: Home) -> None:
    assert mode(home.root) == 0o700
    assert {mode(folder) for folder in home.folders} == {0o700}
    assert who_reads(home) == "owner"


@pytest.mark.parametrize(
    ("readers", "folder", "file"),
    [("group", 0o750, 0o640), ("all", 0o755, 0o644), ("owner", 0o700, 0o600)],
)
def test_the_settings_open_what_others_read_and_nothing_else(
    home: Home, readers: str, folder: int, file: int
) -> None:
    before = os.umask(0o077)  # the strictest habit: the settings still hold
    try:
        publish(home, 1)
        home.settings_file.write_text(f'readers = "{readers}"\n')
        open_home(home)
        publishing.publish(home)
    finally:
        os.umask(before)
    assert (mode(home.root), mode(home.lake), mode(home.database)) == (folder, folder, file)
    for closed in (home.inbox, home.archive, home.quarantine, home.state, home.logs):
        assert mode(closed) == 0o700
    assert who_reads(home) == readers


def test_a_home_that_was_made_before_keeps_its_modes_and_checkup_tells(home: Home) -> None:
    home.root.chmod(0o755)
    open_home(home)
    assert mode(home.root) == 0o755
    found = {f.looked_at: f for f in check_up(home)}["readers"]
    assert found.ok
    assert found.found == "anybody on this machine may read it"
    assert 'readers = "owner"' in found.to_do
