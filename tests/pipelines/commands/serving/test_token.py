from __future__ import annotations

import json
import stat

import pytest
from rangeledger.pipelines.main import app
from rangeledger.warehouse.access_tokens import access_file, access_of, make_token, read_access
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner, Result

from tests.warehouse.serving.clients import publish


def run(home: Home, *words: str) -> Result:
    return CliRunner().invoke(app, ["--home", str(home.root), "token", *words])


def test_a_token_is_told_once_and_kept_as_a_hash_that_only_the_owner_reads(home: Home) -> None:
    publish(home, 2, players=("Ada Brook", "Bo Lind"))
    made = run(home, "make", "tablet", "--player", "ada")
    assert made.exit_code == 0, made.output
    token = made.stdout.strip()
    assert len(token) == 32
    assert token not in access_file(home).read_text()
    assert stat.S_IMODE(access_file(home).stat().st_mode) == 0o600
    access = access_of(read_access(home), token)
    assert access is not None
    assert (access.name, access.players) == ("tablet", ("Ada Brook",))
    assert access_of(read_access(home), token[:-1]) is None
    listed = json.loads(run(home, "list", "--format", "json").stdout)
    assert [(row["name"], row["players"]) for row in listed] == [("tablet", "Ada Brook")]
    assert run(home, "withdraw", "tablet").exit_code == 0
    assert access_of(read_access(home), token) is None


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("make",), "Name the token"),
        (("make", "twice"), "There is a token named twice already"),
        (("make", "x", "--player", "Nobody At All"), "Nobody At All"),
        (("withdraw", "absent"), "There is no token named absent"),
        (("make", "line\nbreak"), "must be plain text"),
    ],
)
def test_what_can_not_be_done_is_told(
    published_home: Home, words: tuple[str, ...], told: str
) -> None:
    make_token(published_home, "twice", None)
    answer = run(published_home, *words)
    assert answer.exit_code == 2
    assert told in answer.stderr
