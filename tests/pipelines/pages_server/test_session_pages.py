"""What a coach does to a session on the pages, as the forms on them send it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

import pytest
from rangeledger.pipelines.main import app
from rangeledger.pipelines.pages_server.shared.errands import Errand, Errands
from rangeledger.warehouse.database import query
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient
from typer.testing import CliRunner

from tests.made_home import ADA, HOSTILE
from tests.pipelines.pages_server.browsing import OWN, client_of, come_in

ADAS = "/players/ada-brook/sessions"


@pytest.fixture
def coach(own_made_home: Home, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """A browser let in; commands that pages start are done at once, in this process."""

    def done(errands: Errands, args: Sequence[str], what: str, back: str) -> Errand:
        answer = CliRunner().invoke(app, ["--home", str(own_made_home.root), *args])
        assert answer.exit_code == 0, answer.output
        errand = Errand(next(errands._numbers), what, back)
        errands._errands[errand.number] = errand
        return errand

    monkeypatch.setattr(Errands, "start", done)
    with come_in(client_of(own_made_home)) as client:
        yield client


def post(coach: TestClient, address: str, **fields: str) -> str:
    """Send a form; where the work goes on to when it is done."""
    answer = coach.post(address, data=fields, headers=OWN)
    assert answer.status_code == 303, answer.text
    number = int(answer.headers["location"].rpartition("/")[2])
    errand = coach.app.state.site.errands.at(number)  # type: ignore[attr-defined]
    return str(errand.back)


def sessions(home: Home) -> list[tuple[str, int, bool, int]]:
    sql = "SELECT player, shots, moved, merged FROM sessions ORDER BY player, started_at"
    return [(str(a), int(b), bool(c), int(d)) for a, b, c, d in query(home, sql).rows()]


def test_a_session_goes_to_a_new_player_and_back(coach: TestClient, own_made_home: Home) -> None:
    before = sessions(own_made_home)
    page = coach.get(ADAS).text
    assert "Move back" not in page
    assert page.count('name="decision" value="move"') == 4
    back = post(coach, ADAS, session="ada-s1", decision="move", to="", new=" Cara  Lind ")
    assert back == "/players/cara-lind/sessions"
    page = coach.get(back).text
    assert "moved here from another player" in page
    assert ADA not in page.partition("<select")[0]
    assert ("Cara Lind", 60, True, 1) in sessions(own_made_home)
    assert post(coach, back, session="ada-s1", decision="move-back") == "/players"
    assert sessions(own_made_home) == before
    back = post(coach, ADAS, session="ada-s1", decision="move", to=HOSTILE, new="")
    assert back.endswith("/sessions")
    assert [row for row in sessions(own_made_home) if row[2]] == [(HOSTILE, 120, True, 1)]


def test_neighbouring_sessions_merge_and_part_again(coach: TestClient, own_made_home: Home) -> None:
    before = sessions(own_made_home)
    page = coach.get(ADAS).text
    card = page.partition('id="s-ada-s3"')[2].partition("</section>")[0]
    offered = re.findall(r'<option value="(ada-s\d)">(.*?)</option>', card)
    assert [session for session, _ in offered] == ["ada-s2", "ada-s1", "ada-s0"]
    assert re.fullmatch(r"2026-05-20 \d\d:\d\d, 60 shots", offered[0][1])
    post(coach, ADAS, session="ada-s3", decision="merge", other="ada-s2")
    page = coach.get(ADAS).text
    assert "merged of 2 visits" in page
    (one,) = [row for row in sessions(own_made_home) if row[3] > 1]
    assert one == (ADA, 120, False, 2)
    merged = query(own_made_home, "SELECT session_id FROM sessions WHERE merged > 1").item()
    post(coach, ADAS, session=merged, decision="part")
    assert sessions(own_made_home) == before


def test_what_the_form_leaves_open_is_told_and_changes_nothing(
    coach: TestClient, own_made_home: Home
) -> None:
    before = sessions(own_made_home)
    for fields, status in (
        ({"decision": "move", "to": "", "new": " "}, 400),
        ({"decision": "move", "to": "Nobody"}, 400),
        ({"decision": "merge", "other": "zoe-s1"}, 400),
        ({"decision": "forget"}, 404),
        ({"decision": "move", "to": HOSTILE, "session": "zoe-s1"}, 404),
    ):
        answer = coach.post(ADAS, data={"session": "ada-s1"} | fields, headers=OWN)
        assert answer.status_code == status
        assert "To the sessions" in answer.text
    assert sessions(own_made_home) == before
