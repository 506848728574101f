"""The browser that page tests use, None where the machine has none."""

from __future__ import annotations

import shutil

BROWSER = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
