"""Which delimiter parts the cells, where another usual one is in all of them too."""

from __future__ import annotations

import pytest

from pipelines.reading.dialect import best_delimiter


@pytest.mark.parametrize("mark", [";", "|", "\t"])
@pytest.mark.parametrize("minus", ["-", "−", "–"])
def test_a_decimal_comma_in_every_column_is_no_delimiter(mark: str, minus: str) -> None:
    row = mark.join(("Eisen 9", f"{minus}2,8", "43,5", "130,18", "1,7", f"{minus}0,3"))
    heading = mark.join(("Schläger", "Winkel, Grad", "Tempo, mps", "Weite, m", "Seite, m", "Achse"))
    assert best_delimiter([heading] + [row] * 20)[0] == mark
    assert best_delimiter([heading.replace(", ", " ")] + [row] * 20)[0] == mark
