"""A fit that exhausts the machine is not tried again at the next start.

Fits are watched as loads are (`exhaustion.py`): before the kernel ends the process for want of
memory, or when a fit takes longer than any should, a thread notes whose fits were under way and
ends the process. The next start makes each of several by itself; a player whose fit was alone
keeps the earlier one until their shots, decisions or the models change, or somebody asks for it.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager, suppress
from pathlib import Path
from typing import Any

from rangeledger.pipelines.running.exhaustion import MEMORY, end_process, guarded
from rangeledger.warehouse.home import Home
from rangeledger.warehouse.system.durable_files import write_atomically
from rangeledger.warehouse.system.memory import Memory, memory_now

# Some ten times what a fit takes on a slow machine.
_SECONDS, _SECONDS_A_SHOT = 600.0, 0.01


def _under_way(home: Home) -> Path:
    return home.state / "exhausting_fits.json"


def _given_up(home: Home) -> Path:
    return home.state / "given_up_fits.json"


class FitWatch:
    """Watches what the fits that are under way take.

    Parameters
    ----------
    home : Home
    end : callable
        Ends the process, and is told why.
    memory : callable
        How much memory there is.
    clock : callable
        Monotonic time [s].
    """

    def __init__(
        self,
        home: Home,
        *,
        end: Callable[[str], None] = end_process,
        memory: Callable[[], Memory] = memory_now,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._home, self._end, self._memory, self._clock = home, end, memory, clock
        self._latest: dict[str, float] = {}

    def watching(self) -> AbstractContextManager[None]:
        """Watch for this block."""
        return guarded(self._is_late, self._exhausted, memory=self._memory)

    def begun(self, player: str, shots: int) -> None:
        """Note that the fit of a player with so many shots is under way."""
        most_s = _SECONDS + _SECONDS_A_SHOT * shots
        self._latest = self._latest | {player: self._clock() + most_s}

    def done(self, player: str) -> None:
        """Note that it is done, or has failed."""
        self._latest = {name: at for name, at in self._latest.items() if name != player}

    def _is_late(self) -> bool:
        return self._clock() > min(self._latest.values(), default=float("inf"))

    def _exhausted(self, why: str) -> None:
        players = sorted(self._latest)
        write_atomically(
            _under_way(self._home),
            json.dumps({"why": why, "players": players}, ensure_ascii=False),
        )
        whose = players[0] if len(players) == 1 else f"{len(players)} players"
        self._end(
            f"Fitting {whose} {in_words(why)} and was ended; the shots are safe. Run the same "
            "command again: the others are fitted, and whose fit is at fault is told in 'status'."
        )


def in_words(why: str) -> str:
    """What a fit did to the machine."""
    return "took nearly all memory" if why == MEMORY else "took too long"


def suspects(home: Home) -> tuple[str, list[str]]:
    """What the fits of some players exhausted when they were under way together, and whose."""
    noted = _read(_under_way(home))
    players = noted.get("players", [])
    return str(noted.get("why", "")), [str(player) for player in players]


def forget_suspects(home: Home) -> None:
    """Remove the note: each of them was fitted by itself, or is given up."""
    _under_way(home).unlink(missing_ok=True)


def give_up(home: Home, player: str, why: str, made_from: Sequence[Any]) -> None:
    """Note that a player's fit exhausts the machine, and what it would be made from."""
    noted = _read(_given_up(home)) | {player: [why, *made_from]}
    write_atomically(_given_up(home), json.dumps(noted, ensure_ascii=False))


def given_up(home: Home, made_from: Mapping[str, Sequence[Any]]) -> dict[str, str]:
    """Whose fits exhaust the machine, with what they do; forgets those made from other shots now.

    Parameters
    ----------
    home : Home
    made_from : mapping of str to sequence
        Checksum of what a fit is to be made from and version of the models, by player.
    """
    noted = _read(_given_up(home))
    same = {name: one for name, one in noted.items() if one[1:] == list(made_from.get(name, ()))}
    if same != noted:
        _leave_given_up(home, same)
    return {name: in_words(str(one[0])) for name, one in same.items()}


def try_again(home: Home) -> None:
    """Forget whose fits exhausted the machine: somebody asks for them."""
    _leave_given_up(home, {})


def _leave_given_up(home: Home, noted: Mapping[str, Any]) -> None:
    if noted:
        write_atomically(_given_up(home), json.dumps(dict(noted), ensure_ascii=False))
    else:
        _given_up(home).unlink(missing_ok=True)


def _read(path: Path) -> dict[str, Any]:
    with suppress(OSError, ValueError):
        found = json.loads(path.read_text(encoding="utf-8"))
        return found if isinstance(found, dict) else {}
    return {}
