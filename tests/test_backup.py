"""The README's two lines for a backup and for restoring it, run as they stand there."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import deciding, ledger
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home

from tests.exports_text import seven_irons
from tests.pipelines.killing import contents, different

_README = Path(__file__).parent.parent / "README.md"


def lines(home: Home, archive: Path) -> list[str]:
    """The two lines, for a home of the test's own."""
    found = re.findall(r"^(?:flock|mkdir) .*\.tar\.gz.*$", _README.read_text(), re.MULTILINE)
    assert len(found) == 2
    program = f"{sys.executable} -m rangeledger --home {home.root}"
    return [
        line.replace("~/rangeledger.tar.gz", str(archive))
        .replace("~/rangeledger", str(home.root))
        .replace("&& rangeledger", f"&& {program}")
        for line in found
    ]


def test_a_backup_restores_all_that_a_home_holds(home: Home, tmp_path: Path) -> None:
    for name, text in {
        "a": seven_irons(),
        "b": seven_irons("Bo Lind"),
        "odd": "no export\n",
    }.items():
        (home.inbox / f"{name}.csv").write_text(text)
    ledger.load_plainly(home, inbox.waiting(home))
    ledger.complete(home)
    home.settings_file.write_text('zone = "Europe/Stockholm"\n[hands]\n"Bo Lind" = "left"\n')
    (home.mappings / "mine.toml").write_text("# mine\n")
    session = query(home, "SELECT session_id FROM sessions WHERE player = 'Bo Lind'").item()
    deciding.decide(home, session, excluded=True, why="new balls")
    deciding.rename(home, "Bo Lind", "Bo Lindgren")
    (home.inbox / "waits.csv").write_text(seven_irons("Cy Holm"))
    kept = {p: p.read_bytes() for p in (home.settings_file, home.mappings / "mine.toml")}
    before = contents(home.root)
    backup, restore = lines(home, tmp_path / "backup.tar.gz")
    subprocess.run(["bash", "-euc", backup], check=True)
    shutil.rmtree(home.root)
    subprocess.run(["bash", "-euc", restore], check=True, capture_output=True)
    assert different(before, contents(home.root)) == []
    assert {path: path.read_bytes() for path in kept} == kept
