"""Tables whose every row is a percentile. Wordings: common practice, no source."""

from __future__ import annotations

from pathlib import Path

import pytest
from rangeledger.schemas.errors import ExportError

from tests.pipelines.reader.recognising.lines.test_lines_and_refusals import read


def test_rows_of_percentiles_are_no_shots(tmp_path: Path) -> None:
    rows = [
        f"{club},P{p},{c},{s}"
        for club in ("7 iron", "Driver", "9 iron")
        for p, c, s in ((10, 140, 104), (50, 148, 107), (90, 155, 110))
    ]
    with pytest.raises(ExportError, match="no shot"):
        read(tmp_path, ["Club,Percentile,Carry (yd),Ball speed (mph)", *rows])
