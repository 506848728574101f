"""What stands in the folder of operations works: units, compose file, backup and its restore."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from rangeledger.pipelines import service

FOLDER = Path(service.__file__).parent / "operations"
COMPOSE = yaml.safe_load((FOLDER / "compose.yaml").read_text())


def commands() -> Iterator[tuple[str, list[str]]]:
    """Every command of our own programs that a unit, the compose or the container file runs."""
    for unit in FOLDER.glob("*.service"):
        (line,) = re.findall(r"^ExecStart=(.*)$", unit.read_text(), re.MULTILINE)
        yield unit.name, shlex.split(line)
    for name, one in COMPOSE["services"].items():
        if "command" in one:
            yield f"compose.yaml, {name}", one["command"]
    (line,) = re.findall(r"^CMD \[(.*)\]$", (FOLDER / "Containerfile").read_text(), re.MULTILINE)
    yield "Containerfile", [word.strip(' "') for word in line.split(",")]


@pytest.mark.parametrize(("place", "words"), list(commands()), ids=lambda value: str(value)[:40])
def test_every_option_of_a_command_exists(place: str, words: list[str]) -> None:
    program, part = Path(words[0]).name, words[1]
    asked = subprocess.run(
        [sys.executable, "-m", program, part, "--help"],
        capture_output=True, text=True, check=True, env={**os.environ, "COLUMNS": "200"},
    )  # fmt: skip
    options = [word for word in words if word.startswith("--")]
    assert options, place
    assert [option for option in options if option not in asked.stdout] == []


def test_workers_start_as_the_check_at_the_start_wants_them() -> None:
    for place, words in commands():
        if words[1] == "worker":
            assert "--no-nanny" in words, place
            assert words[words.index("--nthreads") + 1] == "1", place


def test_the_compose_file_names_what_exists() -> None:
    for name, one in COMPOSE["services"].items():
        assert set(one.get("depends_on", ())) <= set(COMPOSE["services"]), name
    dockerfile = COMPOSE["x-own"]["build"]["dockerfile"]
    assert dockerfile.endswith("operations/Containerfile")
    assert (FOLDER / "compose.yaml").parent.joinpath(*[".."] * 3, dockerfile).exists()
    text = (FOLDER / "compose.yaml").read_text()
    told = (FOLDER / "OPERATIONS.md").read_text()
    assert {name for name in re.findall(r"\$\{(\w+)", text) if name not in told} == set()
