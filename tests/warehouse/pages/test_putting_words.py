"""Where putts start, in words, for all of them and by break."""

from __future__ import annotations

import polars as pl
from rangeledger.warehouse.pages.putting_words import putting_words


def test_the_start_line_is_told_by_break_where_there_are_enough_putts() -> None:
    rows = pl.DataFrame(
        {
            "break": ["all", "left-to-right", "right-to-left", "straight"],
            "putts": [40, 20, 9, 11], "sessions": [2] * 4, "start_sd_deg": [0.9] * 4,
            "start_direction_deg": [-0.4, -1.2, 0.8, 0.02], "start_direction_se_deg": [0.2] * 4,
            "share_holed_dead_weight": [0.97] * 4, "share_holed_firm": [0.93] * 4,
            "share_holed_firm_low": [0.81] * 4, "share_holed_firm_high": [0.97] * 4,
            "share_holed_hard": [0.86] * 4,
        }
    )  # fmt: skip
    words = putting_words(rows)
    assert words[0].startswith("40 putts in 2 sessions start 0.4 degrees left of the line")
    assert words[1].startswith(
        "By break, as the export says it, putts start: left-to-right (20 putts) 1.2 degrees left "
        "of the line (give or take 0.2); straight (11 putts) on the line (give or take 0.2)."
    )
    assert putting_words(rows.head(1)) == [words[0], *words[2:]]
    assert putting_words(rows.head(1).drop("break")) == [words[0], *words[2:]]
