"""Work that takes a while, done by a process of its own so that the pages stay light.

Refits and demos are the commands of the same program: they take the writer's lock in turn with
`watch`, and the process that shows pages needs none of what they load.
"""

from __future__ import annotations

import itertools
import subprocess
import sys
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field

from rangeledger.warehouse.home import Home

# So many are remembered: whoever comes back to one sees how it ended.
_KEPT = 100
# The last so many lines that an errand said are shown.
_LINES = 12


@dataclass
class Errand:
    """One command at work.

    Parameters
    ----------
    number : int
        Its number in addresses.
    what : str
        What it does, in words.
    back : str
        Address to go on to.
    """

    number: int
    what: str
    back: str
    process: subprocess.Popen[str] | None = None
    said: list[str] = field(default_factory=list)
    ended: threading.Event = field(default_factory=threading.Event)

    @property
    def state(self) -> str:
        """`running`, `done` or `failed`."""
        if not self.ended.is_set():
            return "running"
        return "done" if self.process is not None and self.process.returncode == 0 else "failed"

    def told(self) -> str:
        """What it said last."""
        return "\n".join(self.said[-_LINES:])


class Errands:
    """Runs commands one after the other and remembers how they ended.

    Parameters
    ----------
    home : Home
    """

    def __init__(self, home: Home) -> None:
        self._home = home
        self._numbers = itertools.count(1)
        self._errands: dict[int, Errand] = {}

    def start(self, args: Sequence[str], what: str, back: str) -> Errand:
        """Start a command of this program on the home.

        Parameters
        ----------
        args : sequence of str
            The command and its arguments, as on the command line.
        what : str
            What it does, in words.
        back : str
            Address to go on to.
        """
        errand = Errand(next(self._numbers), what, back)
        self._errands[errand.number] = errand
        for number in sorted(self._errands)[:-_KEPT]:
            del self._errands[number]
        errand.process = subprocess.Popen(
            [sys.executable, "-m", "rangeledger", "--home", str(self._home.root), *args],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        threading.Thread(target=_listen, args=(errand,), daemon=True).start()
        return errand

    def at(self, number: int) -> Errand | None:
        """The errand of a number."""
        return self._errands.get(number)

    def stop(self) -> None:
        """End what still runs; the writer's work is safe to end at any moment."""
        for errand in self._errands.values():
            if errand.process is not None and errand.process.poll() is None:
                errand.process.terminate()


def _listen(errand: Errand) -> None:
    assert errand.process is not None
    assert errand.process.stdout is not None
    for line in errand.process.stdout:
        if line.strip():
            errand.said.append(line.rstrip())
            del errand.said[: -4 * _LINES]
    errand.process.wait()
    errand.ended.set()
