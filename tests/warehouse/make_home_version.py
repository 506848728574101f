"""Make the small home that tests open to see that homes of this layout stay readable.

Run `python -m tests.warehouse.make_home_version FOLDER` when the layout's version is raised,
before raising it. Only what lasts is kept: lake, archive, quarantine and settings.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.running import deciding, ledger
from rangeledger.warehouse import database
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons

KEPT = ("lake", "archive", "quarantine", "mappings", "settings.toml")
# Headings that no one can guess, with the club's numbers too; the last row's ball is too fast.
_MAPPED = (
    "When,Stick,Kv,Ein,Bv,Up,Turn,Far\n"
    + "\n".join(
        f"2026-06-20 10:0{n}:00,9i,{club},{attack},{ball},{launch},{spin},{carry}"
        for n, (club, attack, ball, launch, spin, carry) in enumerate(
            (
                (34.4, -4.1, 46.1, 20.9, 7810, 121.4),
                (34.1, -3.8, 45.6, 21.3, 7900, 119.2),
                (34.6, -4.4, 46.4, 20.6, 7750, 122.9),
                (34.3, -3.9, 45.9, 21.0, 7840, 120.6),
                (34.2, -4.0, 45.8, 21.1, 7860, 120.1),
                (20.0, -4.0, 45.8, 21.1, 7860, 120.1),
            )
        )
    )
    + "\n"
)
_MAPPING = """\
[match]
headings = ["When", "Stick", "Kv", "Ein", "Bv", "Up", "Turn", "Far"]

[columns."When"]
column = "date_and_time"
[columns."Stick"]
column = "club"
[columns."Kv"]
column = "clubhead_speed_mps"
unit = "m/s"
[columns."Ein"]
column = "angle_of_attack_deg"
unit = "deg"
positive = "up"
[columns."Bv"]
column = "ball_speed_mps"
unit = "m/s"
[columns."Up"]
column = "launch_angle_deg"
unit = "deg"
[columns."Turn"]
column = "spin_rate_rpm"
unit = "rpm"
[columns."Far"]
column = "carry_m"
unit = "m"
"""
_NOTE = """\
player = "Ada Brook"
ball = "range"
wind_speed_mps = 2.5
wind_from_deg = 30
"""


def make(folder: Path) -> None:
    """Make a home with three loads, a mapping, a note, a decision and a refused export."""
    home = open_home(Home(folder))
    home.settings_file.write_text('zone = "Europe/Stockholm"\n\n[hands]\n"Ada Brook" = "left"\n')
    (home.mappings / "stick.toml").write_text(_MAPPING)
    for name, text in (
        ("first.csv", seven_irons("Ada Brook", "2026-05-02")),
        ("refused.csv", "nothing of the kind\n"),
    ):
        (home.inbox / name).write_text(text)
    ledger.load_plainly(home, inbox.waiting(home))
    bad_row = "Ada Brook,2026-06-09,7 iron,x,,,,,,\n"
    (home.inbox / "second.csv").write_text(seven_irons("Ada Brook", "2026-06-09") + bad_row)
    ledger.load_plainly(home, inbox.waiting(home))
    (home.inbox / "third.csv").write_text(_MAPPED)
    (home.inbox / "third.toml").write_text(_NOTE)
    ledger.load_plainly(home, inbox.waiting(home))
    _exclude_the_second_visit(home)
    for reason in home.quarantine.glob("*.reason.txt"):
        reason.write_text(reason.read_text().replace(str(folder), "HOME"))
    for entry in folder.iterdir():
        if entry.name not in KEPT:
            shutil.rmtree(entry) if entry.is_dir() else entry.unlink()


def _exclude_the_second_visit(home: Home) -> None:
    with database.open_ledger(home) as connection:
        found = connection.execute(
            "SELECT DISTINCT session_id FROM ledger.shots WHERE batch = 2"
        ).fetchone()
    assert found is not None
    deciding.decide(home, found[0], excluded=True, why="a sore wrist")


if __name__ == "__main__":
    make(Path(sys.argv[1]).absolute())
