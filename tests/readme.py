"""The README's commands and what they print; `python -m tests.readme` prints them anew.

Blocks of kind `console` hold lines `$ rangeledger …` and the output that follows each.
"""

from __future__ import annotations

import re
import shlex
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

README = Path(__file__).parent.parent / "README.md"
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)


@dataclass(frozen=True)
class Shown:
    """A command of the README and the output shown under it."""

    command: str
    output: str

    @property
    def words(self) -> list[str]:
        """Words after `rangeledger`."""
        return shlex.split(self.command)[1:]


def shown(text: str) -> list[Shown]:
    """All commands with output that a text shows."""
    found: list[Shown] = []
    for block in _BLOCK.findall(text):
        found += map(shown_one, re.split(r"^\$ ", block, flags=re.MULTILINE)[1:])
    return found


def _command_and_output(part: str) -> tuple[str, str]:
    lines = part.split("\n")
    end = _end_of_command(lines)
    command = " ".join(line.rstrip("\\").strip() for line in lines[: end + 1])
    return command, "\n".join(lines[end + 1 :]).strip("\n")


def _end_of_command(lines: list[str]) -> int:
    return next(n for n, line in enumerate(lines) if not line.endswith("\\"))


def tidy(output: str) -> str:
    """Output without blanks at line ends and without blank lines around it."""
    return "\n".join(line.rstrip() for line in output.splitlines()).strip("\n")


def rewritten(text: str, run: Callable[[list[str]], str]) -> str:
    """The text with each output replaced by what the command prints now."""

    def fresh(block: re.Match[str]) -> str:
        parts = re.split(r"^\$ ", block[1], flags=re.MULTILINE)[1:]
        return "```console\n" + "".join(map(anew, parts)) + "```"

    def anew(part: str) -> str:
        lines = part.split("\n")
        command = "\n".join(lines[: _end_of_command(lines) + 1])
        return f"$ {command}\n{tidy(run(shown_one(part).words))}\n"

    return _BLOCK.sub(fresh, text)


def shown_one(part: str) -> Shown:
    """A command with its output, without the mark before it."""
    return Shown(*_command_and_output(part))


def main() -> None:
    """Print the README's outputs anew, from a demo home that is named."""
    from rangeledger.pipelines.main import app
    from typer.testing import CliRunner

    home = sys.argv[1]

    def run(words: list[str]) -> str:
        answer = CliRunner().invoke(app, ["--home", home, *words])
        return answer.stdout or answer.output

    README.write_text(rewritten(README.read_text(encoding="utf-8"), run), encoding="utf-8")


if __name__ == "__main__":
    main()
