"""Orders of day, month and year, by the words that notes and settings use for them."""

from __future__ import annotations

from typing import Final

DATE_ORDERS: Final = {"year-month-day": "ymd", "day-month": "dmy", "month-day": "mdy"}
