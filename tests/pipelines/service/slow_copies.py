"""Copies into the inbox that take their time, in every way that programs copy.

    python -m tests.pipelines.service.slow_copies

Copies 48 exports at once into a watched home: written in pieces, with pauses of 0.2 to 5 s, by
programs that keep the file open or open it again for each piece, cut at the end of a line, amid a
line, amid a number, amid the heading or before the last line's end. All must be loaded whole.
"""

from __future__ import annotations

import itertools
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from rangeledger.pipelines.loading import inbox
from rangeledger.pipelines.loading.growing_files import PATIENT_S
from rangeledger.pipelines.running import ledger
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.opening import open_home

from tests.exports_text import seven_irons
from tests.pipelines.service.running import running_service, wait_until

PAUSES_S = (0.2, 1.0, 2.5, 5.0)
CUTS = ("line end", "amid a line", "amid a number", "heading", "last end", "no last end")


@dataclass(frozen=True)
class Copy:
    """One slow copy."""

    player: str
    pause_s: float
    reopened: bool
    cut: str

    @property
    def text(self) -> str:
        """What is copied."""
        text = seven_irons(self.player)
        return text.removesuffix("\n") if self.cut == "no last end" else text

    def pieces(self) -> list[str]:
        """What is copied, in three pieces."""
        text = self.text
        lines = [place + 1 for place, sign in enumerate(text) if sign == "\n"]
        cuts = {
            "line end": (lines[1], lines[3]),
            "amid a line": (lines[1] + 3, lines[3] + 3),
            "amid a number": (text.index(".", lines[1]), text.index(".", lines[3]) + 1),
            "heading": (20, lines[0]),
            "last end": (lines[2], len(text) - 1),
            "no last end": (lines[2], len(text) - 2),
        }[self.cut]
        return [text[a:b] for a, b in itertools.pairwise((0, *cuts, len(text)))]

    def write(self, path: Path) -> None:
        """Copy, piece by piece."""
        pieces = self.pieces()
        if not self.reopened:
            with path.open("w") as stream:
                for piece in pieces:
                    stream.write(piece)
                    stream.flush()
                    time.sleep(self.pause_s)
            return
        for piece in pieces:
            with path.open("a") as stream:
                stream.write(piece)
            time.sleep(self.pause_s)


def matrix(pauses_s: Sequence[float], cuts: Sequence[str]) -> list[Copy]:
    """Every pause with every cut, kept open and opened again."""
    every = itertools.product(pauses_s, (False, True), cuts)
    return [Copy(f"Player {n:02d}", *how) for n, how in enumerate(every)]


def shots_of(home: Home) -> dict[str, list[tuple[object, ...]]]:
    """Shots by player that count."""
    sql = (
        "SELECT player, struck_at, club, ball_speed_mps, carry_m, carry_side_m, spin_rate_rpm "
        "FROM shots ORDER BY ALL"
    )
    found: dict[str, list[tuple[object, ...]]] = {}
    for player, *values in query(home, sql).rows():
        found.setdefault(player, []).append(tuple(values))
    return found


def different(home: Home, expected: Home, copies: Sequence[Copy]) -> list[str]:
    """Copy at once what is copied slowly, into two homes; players whose shots differ."""
    for number, copy in enumerate(copies):
        (expected.inbox / f"{number}.csv").write_text(copy.text)
    ledger.load_plainly(expected, inbox.waiting(expected))
    ledger.complete(expected)
    with running_service(home, rescan_s=1.0, patient_s=PATIENT_S) as service:
        wait_until(lambda: service.presence.doing == "watching")
        threads = [
            threading.Thread(target=copy.write, args=(home.inbox / f"{number}.csv",))
            for number, copy in enumerate(copies)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        wait_until(lambda: not any(home.inbox.iterdir()))
        wait_until(lambda: service.presence.doing == "watching")
    found, wanted = shots_of(home), shots_of(expected)
    return sorted(p for p in found.keys() | wanted.keys() if found.get(p) != wanted.get(p))


def main() -> None:
    """Copy everything, and tell what went wrong."""
    from rangeledger.pipelines.running.engine import engine, wait_for_engine

    copies = matrix(PAUSES_S, CUTS)
    with tempfile.TemporaryDirectory(prefix="rangeledger-slow-") as folder:
        home, expected = (open_home(Home(Path(folder) / name)) for name in ("home", "expected"))
        with engine(home):
            wait_for_engine()
            wrong = different(home, expected, copies)
        refused = sorted(path.name for path in home.quarantine.iterdir())
        readings = query(home, "SELECT count(*) FROM ingest_log").item()
    told = {copy.player: copy for copy in copies}
    print(f"{len(copies)} slow copies, read {readings} times: {len(wrong)} with wrong values, "
          f"{len(refused)} refused")  # fmt: skip
    for player in wrong:
        print(" ", told.get(player, player))
    for name in refused:
        print(" ", name)


if __name__ == "__main__":
    main()
