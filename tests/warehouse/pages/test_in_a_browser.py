"""The pages in a real headless browser: they fit a phone, fetch nothing and log no error.

Without Chromium on the machine these tests are deselected (see tests/conftest.py); CI installs it.
"""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipelines.main import app
from tests.browser import BROWSER
from warehouse.home import Home

pytestmark = [pytest.mark.browser, pytest.mark.prefect, pytest.mark.slow]

PHONE_PX = 360
# The page in a frame as wide as a phone; the outer page writes down what it measures.
FRAME = """<!doctype html><title>waiting</title>
<iframe id="phone" src="{page}" style="width:{width}px;height:800px;border:0"></iframe>
<script>
document.getElementById("phone").onload = function () {{
  const inside = this.contentDocument;
  document.title = [inside.documentElement.scrollWidth, inside.title,
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


def look_at(page: Path, tmp_path: Path, width: int) -> tuple[int, str, int, str]:
    """Scroll width, title and number of scripts or fetched things, and what the browser logged."""
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
    found = re.search(r"<title>(\d+)\|(.*)\|(\d+)</title>", seen.stdout)
    assert found is not None, seen.stdout[:500]
    return int(found[1]), found[2], int(found[3]), seen.stderr


def test_every_page_fits_a_phone_and_needs_nothing_else(pages: list[Path], tmp_path: Path) -> None:
    assert {"overview", "report", "card"} <= {page.stem.split("-")[0] for page in pages}
    chosen = [
        page for page in pages if page.stem.startswith(("overview", "report-tam", "card-tam"))
    ]
    for number, page in enumerate(chosen):
        folder = tmp_path / str(number)
        folder.mkdir()
        width, title, fetched, log = look_at(page, folder, PHONE_PX)
        assert width <= PHONE_PX, page.name
        assert title.strip(), page.name
        assert fetched == 0, page.name
        assert "CONSOLE" not in log, page.name
