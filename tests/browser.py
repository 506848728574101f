"""The browser that page tests use, None where the machine has none."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Browser

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


@contextmanager
def opened_browser() -> Iterator[Browser]:
    """One browser for all tests of a module; starting it costs as much as ten pages."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield browser
        browser.close()
