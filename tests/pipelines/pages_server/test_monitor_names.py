"""What `status` asks of monitors is asked on the inbox page too, and the answer is kept."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest
from rangeledger.pipelines.pages_server.shared.errands import Errand, Errands
from rangeledger.warehouse.home import Home

from tests.layouts import put_layouts
from tests.pipelines.pages_server.browsing import OWN, client_of, come_in


def test_a_layout_is_named_on_the_inbox_page(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    put_layouts(home)
    before = home.settings_file.read_text()
    started: list[Sequence[str]] = []

    def start(_errands: Errands, args: Sequence[str], what: str, back: str) -> Errand:
        started.append(args)
        return Errand(1, what, back)

    monkeypatch.setattr(Errands, "start", start)
    with come_in(client_of(home)) as client:
        page = client.get("/inbox").text
        asked = re.findall(r'name="layout" value="(.*?)"', page)
        assert asked == ["layout-aaaaaaaa", "layout-bbbbbbbb"]
        assert "1 export has one layout, such as a.csv: which monitor?" in page
        for fields, status in (
            ({"layout": "layout-aaaaaaaa", "name": " "}, 400),
            ({"layout": "layout-cccccccc", "name": "bay A"}, 404),
            ({"layout": "layout-aaaaaaaa", "name": "bay A"}, 303),
            ({"layout": "layout-aaaaaaaa", "name": "bay A2"}, 404),
        ):
            assert client.post("/inbox/monitors", data=fields, headers=OWN).status_code == status
        page = client.get("/inbox").text
    assert re.findall(r'name="layout" value="(.*?)"', page) == ["layout-bbbbbbbb"]
    assert home.settings_file.read_text() == (before + '[monitors]\n"layout-aaaaaaaa" = "bay A"\n')
    assert started == [["reload"]]
