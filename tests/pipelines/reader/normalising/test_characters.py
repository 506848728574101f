"""Characters that look alike come to one form, in a text as in a column."""

from __future__ import annotations

import polars as pl
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.pipelines.reader.normalising.characters import plain_characters, plain_expression

LOOK_ALIKES = "−–—‒﹣－\u00a0\u202f\u2009’′ʼ″“º˚＋\u200b\ufeff-' \"°+1a,."


def test_each_kind_has_one_form() -> None:
    assert plain_characters("−1\u202f234º ") == "-1 234°"
    assert plain_characters("12′ 6″") == "12' 6\""
    assert plain_characters("\ufeff5\u200b") == "5"


@given(text=st.text(LOOK_ALIKES, max_size=20))
def test_a_column_is_read_as_its_cells_are(text: str) -> None:
    column = pl.DataFrame({"text": [text]}).select(plain_expression(pl.col("text")))
    assert column.item() == plain_characters(text)
