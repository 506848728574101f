"""Make the small home that tests open to see that homes of this layout stay readable.

Run `python -m tests.warehouse.make_home_version FOLDER` when the layout's version is raised,
before raising it. Only what lasts is kept: lake, archive, quarantine and settings.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import ledger
from rangeledger.warehouse.home import Home, open_home

from tests.exports_text import seven_irons

KEPT = ("lake", "archive", "quarantine", "settings.toml")


def make(folder: Path) -> None:
    """Make a home with two loads, a decision and a refused export."""
    home = open_home(Home(folder))
    for name, text in (
        ("first.csv", seven_irons("Ada Brook", "2026-05-02")),
        ("refused.csv", "nothing of the kind\n"),
    ):
        (home.inbox / name).write_text(text)
    ledger.load_plainly(home, inbox.waiting(home))
    bad_row = "Ada Brook,2026-06-09,7 iron,x,,,,,,\n"
    (home.inbox / "second.csv").write_text(seven_irons("Ada Brook", "2026-06-09") + bad_row)
    ledger.load_plainly(home, inbox.waiting(home))
    for reason in home.quarantine.glob("*.reason.txt"):
        reason.write_text(reason.read_text().replace(str(folder), "HOME"))
    for entry in folder.iterdir():
        if entry.name not in KEPT:
            shutil.rmtree(entry) if entry.is_dir() else entry.unlink()


if __name__ == "__main__":
    make(Path(sys.argv[1]).absolute())
