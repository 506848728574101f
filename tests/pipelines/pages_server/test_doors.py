"""Who gets in: hosts, origins, keys, sizes. The attacks are common ones (OWASP cheat sheets on
cross-site request forgery and DNS rebinding, from memory)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from rangeledger.pipelines.pages_server.replies.problems import POLICY
from rangeledger.warehouse.home import Home
from starlette.testclient import TestClient

from tests.pipelines.pages_server.browsing import OWN, client_of, come_in


def test_without_a_login_there_is_only_the_door(made_home: Home) -> None:
    client = client_of(made_home)
    for path in ("/", "/players", "/players/ada-brook", "/inbox", "/welcome"):
        answer = client.get(path)
        assert (answer.status_code, answer.headers["location"]) == (303, "/enter"), path
    assert client.get("/players.json").status_code == 401
    assert client.post("/demo", headers=OWN).status_code == 401
    assert "Ada" not in client.get("/enter").text


def test_a_key_opens_once_and_makes_a_cookie_no_script_can_read(made_home: Home) -> None:
    client = client_of(made_home)
    key = client.app.state.site.entry.new_key()
    answer = client.get(f"/enter?key={key}")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert client.get("/players").status_code == 200
    again = client_of(made_home).get(f"/enter?key={key}")
    assert again.status_code == 403
    assert "used already" in again.text


def test_a_key_can_be_typed_and_a_pasted_address_is_taken_too(made_home: Home) -> None:
    client = client_of(made_home)
    key = client.app.state.site.entry.new_key()
    answer = client.post("/enter", data={"key": f" http://x/enter?key={key}"}, headers=OWN)
    assert answer.status_code == 303
    assert client.get("/players").status_code == 200


def test_guesses_are_counted_and_the_door_closes(made_home: Home) -> None:
    client = client_of(made_home)
    answers = [client.get(f"/enter?key=guess{k}").status_code for k in range(12)]
    assert set(answers) == {403, 429}
    key = client.app.state.site.entry.new_key()
    assert client.get(f"/enter?key={key}").status_code == 429


def test_leaving_ends_the_login_for_its_copy_too(made_home: Home) -> None:
    client = come_in(client_of(made_home))
    copy = client_of(made_home)
    copy.cookies = client.cookies
    assert copy.get("/players").status_code == 200
    client.post("/leave", headers=OWN)
    assert copy.get("/players").status_code == 303


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://127.0.0.1:8642", "sec-fetch-site": "cross-site"},
    ],
)
def test_a_form_of_another_site_does_nothing(inside: TestClient, headers: dict[str, str]) -> None:
    answer = inside.post("/players/ada-brook/sessions", data={"session": "x"}, headers=headers)
    assert answer.status_code == 403
    assert "another site" in answer.text


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "", "a@b", "["]
)
def test_another_host_name_is_refused(made_home: Home, host: str) -> None:
    answer = client_of(made_home).get("/enter", headers={"host": host})
    assert answer.status_code == 400
    assert "--host-name" in answer.text


def test_a_caller_from_beyond_private_networks_is_refused(made_home: Home) -> None:
    client = client_of(made_home)
    client._transport.client = ("203.0.113.7", 40000)  # an address of documentation, RFC 5737
    # Python counts that block as private too, so a public one is taken beside it.
    client._transport.client = ("8.8.8.8", 40000)
    assert client.get("/enter").status_code == 403


def test_methods_that_no_page_uses_are_refused(inside: TestClient) -> None:
    for method in ("PUT", "DELETE", "TRACE", "OPTIONS", "PATCH"):
        assert inside.request(method, "/players").status_code == 405


def test_a_body_that_is_too_long_is_refused_before_and_while_it_comes(inside: TestClient) -> None:
    told = inside.post("/inbox/drop", headers={**OWN, "content-length": str(1 << 40)})
    assert told.status_code == 413

    def endless() -> Iterator[bytes]:
        yield b'--x\r\nContent-Disposition: form-data; name="files"; filename="a.csv"\r\n\r\n'
        for _ in range(64):
            yield b"1,2,3\n" * 8000

    headers = {**OWN, "content-type": "multipart/form-data; boundary=x"}
    answer = inside.post("/inbox/drop", content=endless(), headers=headers)
    assert answer.status_code == 413
    assert list(inside.app.state.site.home.inbox.iterdir()) == []


def test_every_answer_says_that_nothing_from_elsewhere_is_run(inside: TestClient) -> None:
    for path in ("/players", "/players/nobody", "/static/site.css", "/enter", "/nothing-here"):
        headers = inside.get(path).headers
        assert headers["content-security-policy"] == POLICY, path
        assert headers["x-content-type-options"] == "nosniff"
        assert "unsafe" not in headers["content-security-policy"]


def test_no_page_holds_a_style_or_a_script_of_its_own(inside: TestClient) -> None:
    for path in ("/players", "/players/ada-brook", "/players/ada-brook/weather", "/inbox"):
        text = inside.get(path).text
        assert "<style" not in text
        assert " style=" not in text
        assert "onclick" not in text
        assert text.count("<script") == text.count('<script src="/static/')


def test_paths_lead_nowhere_else(inside: TestClient) -> None:
    for path in ("/static/../pyproject.toml", "/static/%2e%2e/home.py", "/players/..%2f..%2fx"):
        assert inside.get(path).status_code == 404
