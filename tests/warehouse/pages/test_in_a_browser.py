"""The pages in a real headless browser: they fit a phone, fetch nothing and log no error.

Without Chromium on the machine these tests are deselected (see tests/conftest.py); CI installs it.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest
from rangeledger.pipelines.main import app
from rangeledger.warehouse.home import Home
from typer.testing import CliRunner

from tests.browser import BROWSER

pytestmark = [pytest.mark.browser, pytest.mark.prefect, pytest.mark.slow]

PHONE_PX = 360
# The page in a frame as wide as a phone; the outer page writes down what it measures.
FRAME = """<!doctype html><title>waiting</title>
<iframe id="phone" src="{page}" style="width:{width}px;height:800px;border:0"></iframe>
<script>
document.getElementById("phone").onload = function () {{
  const inside = this.contentDocument;
  const cut = [...inside.querySelectorAll(".face")].filter(
    face => face.scrollWidth > face.clientWidth + 1).length;
  document.title = [cut, inside.documentElement.scrollWidth, inside.title,
    inside.querySelectorAll("script, link[href^=http], img[src^=http]").length].join("|");
}};
</script>"""


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
    log: str


def look_at(page: Path, tmp_path: Path, width: int) -> Look:
    """Look at a page in a window so wide [px]."""
    frame = tmp_path / "frame.html"
    frame.write_text(FRAME.format(page=page.as_uri(), width=width))
    assert BROWSER is not None
    seen = subprocess.run(
        [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--allow-file-access-from-files", "--enable-logging=stderr", "--v=0",
         f"--user-data-dir={tmp_path / 'profile'}", "--virtual-time-budget=5000", "--dump-dom",
         frame.as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    found = re.search(r"<title>(\d+)\|(\d+)\|(.*)\|(\d+)</title>", seen.stdout)
    assert found is not None, seen.stdout[:500]
    return Look(int(found[1]), int(found[2]), found[3], int(found[4]), seen.stderr)


def test_every_page_fits_a_phone_and_needs_nothing_else(pages: list[Path], tmp_path: Path) -> None:
    assert {"overview", "report", "card"} <= {page.stem.split("-")[0] for page in pages}
    chosen = [
        page for page in pages if page.stem.startswith(("overview", "report-tam", "card-tam"))
    ]
    for number, page in enumerate(chosen):
        folder = tmp_path / str(number)
        folder.mkdir()
        look = look_at(page, folder, PHONE_PX)
        assert look.width <= PHONE_PX, page.name
        assert look.title.strip(), page.name
        assert look.fetched == 0, page.name
        assert "CONSOLE" not in look.log, page.name


@pytest.mark.parametrize("width", [390, 768, 1000, 1400])
def test_no_table_sticks_out_of_a_face_of_the_card(
    pages: list[Path], tmp_path: Path, width: int
) -> None:
    (card,) = (page for page in pages if page.stem.startswith("card-tam"))
    look = look_at(card, tmp_path, width)
    assert look.width <= width
    assert look.faces_cut == 0
