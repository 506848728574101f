"""The pages in a real headless browser: they fit a phone, fetch nothing and log no error.

Without Chromium on the machine these tests are deselected (see tests/conftest.py); CI installs it.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import pytest
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.browser import opened_browser

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [pytest.mark.browser, pytest.mark.prefect, pytest.mark.slow]

PHONE_PX = 360
MEASURE = """() => [
    [...document.querySelectorAll(".face")].filter(
        face => face.scrollWidth > face.clientWidth + 1).length,
    document.documentElement.scrollWidth,
    document.title,
    document.querySelectorAll("script, link[href^=http], img[src^=http]").length,
]"""


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    with opened_browser() as browser:
        yield browser


@pytest.fixture(scope="module")
def pages(demo_home: Home, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("pages")
    answer = CliRunner().invoke(
        app, ["--home", str(demo_home.root), "report", "--out", str(folder)]
    )
    assert answer.exit_code == 0, answer.output
    return sorted(folder.glob("*.html"))


class Look(NamedTuple):
    """What the browser measured of a page."""

    faces_cut: int
    width: int
    title: str
    fetched: int
    log: list[str]
    asked: list[str]


def look_at(page: Path, chromium: Browser, width: int) -> Look:
    """Look at a page in a window so wide [px]."""
    shown = chromium.new_page(viewport={"width": width, "height": 800})
    said: list[str] = []
    asked: list[str] = []
    shown.on("console", lambda message: said.append(message.text))
    shown.on("request", lambda request: asked.append(request.url))
    shown.goto(page.as_uri())
    cut, wide, title, fetched = shown.evaluate(MEASURE)
    shown.close()
    return Look(cut, wide, title, fetched, said, asked)


def test_every_page_fits_a_phone_and_needs_nothing_else(
    pages: list[Path], chromium: Browser
) -> None:
    assert {"overview", "report", "card"} <= {page.stem.split("-")[0] for page in pages}
    chosen = [
        page for page in pages if page.stem.startswith(("overview", "report-tam", "card-tam"))
    ]
    for page in chosen:
        look = look_at(page, chromium, PHONE_PX)
        assert look.width <= PHONE_PX, page.name
        assert look.title.strip(), page.name
        assert look.fetched == 0, page.name
        assert look.log == [], page.name
        assert [url for url in look.asked if not url.startswith("data:")] == [page.as_uri()]


@pytest.mark.parametrize("width", [390, 768, 1000, 1400])
def test_no_table_sticks_out_of_a_face_of_the_card(
    pages: list[Path], chromium: Browser, width: int
) -> None:
    (card,) = (page for page in pages if page.stem.startswith("card-tam"))
    look = look_at(card, chromium, width)
    assert look.width <= width
    assert look.faces_cut == 0
