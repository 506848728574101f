"""What others see: links of one player, files of one player, holders of a player's token."""

from __future__ import annotations

import re
import time

import pytest
from rangeledger.pipelines.output.pages import file_word
from rangeledger.pipelines.pages_server.access import tickets
from rangeledger.pipelines.pages_server.player_pages import SCREENS
from rangeledger.warehouse.access_tokens import make_token, withdraw_token
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient

from tests.made_home import ADA, HOSTILE
from tests.pipelines.pages_server.browsing import OWN, client_of
from tests.warehouse.pages.pages_of import Page

ADAS = "/players/ada-brook"


def link_of(inside: TestClient) -> str:
    page = inside.post(f"{ADAS}/share", data={"days": "7"}, headers=OWN).text
    (link,) = re.findall(r'<code class="address">(.*?)</code>', page)
    return str(link)


def test_a_link_shows_every_screen_of_one_player(inside: TestClient, made_home: Home) -> None:
    link = link_of(inside)
    stranger = client_of(made_home)
    for word in SCREENS:
        for ending in ("", ".json"):
            answer = stranger.get(f"{link}{'/' + word if word else ''}{ending}?beside={HOSTILE}")
            assert answer.status_code == 200, word
            assert HOSTILE not in Page(answer.text).text
            assert "alert(" not in answer.text
            assert 'method="post"' not in answer.text


def test_a_link_ends_by_itself_and_by_the_coach(
    inside: TestClient, made_home: Home, monkeypatch: pytest.MonkeyPatch
) -> None:
    link, stranger = link_of(inside), client_of(made_home)
    assert stranger.get(link).status_code == 200
    now = time.time()
    monkeypatch.setattr(tickets.time, "time", lambda: now + 8 * 24 * 3600)
    assert stranger.get(link).status_code == 404
    monkeypatch.undo()
    page = inside.get(f"{ADAS}/share").text
    for name in re.findall(r'name="withdraw" value="([0-9a-f]{64})"', page):
        inside.post(f"{ADAS}/share", data={"withdraw": name}, headers=OWN)
    answer = stranger.get(link)
    assert answer.status_code == 404
    assert "Ask your coach" in answer.text


def test_secrets_of_links_and_logins_are_kept_nowhere(inside: TestClient, made_home: Home) -> None:
    secret = link_of(inside).rpartition("/")[2]
    cookie = next(iter(inside.cookies.values()))
    kept = b"".join(f.read_bytes() for f in (made_home.state / "pages").rglob("*") if f.is_file())
    assert secret.encode() not in kept
    assert cookie.encode() not in kept
    assert all(f.stat().st_mode & 0o077 == 0 for f in (made_home.state / "pages").iterdir()
               if f.is_dir())  # fmt: skip


def test_the_file_holds_one_player_and_needs_nothing(inside: TestClient) -> None:
    answer = inside.get(f"{ADAS}/file")
    assert answer.headers["content-disposition"].startswith("attachment")
    text = answer.text
    assert "<script" not in text
    assert not re.search(r'(?:src|href|action)="', text)
    assert "alert(" not in text
    carries = inside.get(f"{ADAS}.json").json()["tables"]["carry_by_club"]
    page = Page(text).text
    assert all(f"{row['carry_yd']:.0f}" in page for row in carries)


def test_a_player_s_token_opens_that_player_alone(made_home: Home) -> None:
    token = make_token(made_home, "ada-tablet", [ADA])
    try:
        client = client_of(made_home)
        assert client.post("/enter", data={"key": token}, headers=OWN).status_code == 303
        assert ADA in client.get("/players").text
        assert HOSTILE not in Page(client.get("/players").text).text
        assert [r["player"] for r in client.get("/players.json").json()["tables"]["players"]] == [
            ADA
        ]
        assert client.get(f"{ADAS}/card").status_code == 200
        other = client.get(f"/players/{file_word(HOSTILE)}")
        assert other.status_code == 404
        beside = client.get(f"{ADAS}/dispersion", params={"beside": HOSTILE}).text
        assert beside.count('class="drawing"') == 1
        for path in ("/inbox", "/hole", "/welcome", f"{ADAS}/share", "/fix/x", "/errands/1"):
            assert client.get(path).status_code == 403, path
        for path in ("/demo", "/inbox/drop", f"{ADAS}/sessions", f"{ADAS}/share"):
            assert client.post(path, headers=OWN).status_code == 403, path
    finally:
        withdraw_token(made_home, "ada-tablet")
    assert client.get(ADAS).status_code == 303
