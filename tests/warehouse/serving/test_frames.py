"""Messages as the stock client of DuckDB 1.5.5 sent them, recorded from a connection."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rangeledger.warehouse.serving import frames
from rangeledger.warehouse.serving.frames import BadFrameError, Kind

ID = "6AEB1051EE6AC873338E8BFCC91739B6"
CONNECT = (
    b"\x01\x00\x01\x03\x00\x06\xff\xff\x01\x00\x14tok-1234567890abcdef"
    b"\x02\x00\x06v1.5.5\x03\x00\x0blinux_amd64\x04\x00\x01\x05\x00\x01\xff\xff"
)
QUERY = b"\x01\x00\x03\x02\x00 " + ID.encode() + (
    b"\x03\x00\x07\xff\xff\x01\x00\x0fselect * from t\xff\xff"
)  # fmt: skip
FETCH = b"\x01\x00\x07\x02\x00 " + ID.encode() + (
    b"\x03\x00\x07\xff\xff\x01\x00\x81\x8e\x99\xf7\x91\xf4\x93\x87\xea\x00"
    b"\xfb\xac\x9f\xb5\xbe\xc0\x99\xef\x8e\x01\xff\xff"
)  # fmt: skip
CONNECTED = (
    b"\x01\x00\x02\x02\x00 " + ID.encode() + b"\x03\x00\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01"
    b"\xff\xff\x01\x00\x06v1.5.5\x02\x00\x0blinux_amd64\x03\x00\x01\xff\xff"
)
ERROR = (
    b"\x01\x00d\x03\x00\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01\xff\xff"
    b"\x01\x008syntax error at or near \"selec\"\n\nLINE 1: selec\n        ^\xff\xff"
)  # fmt: skip
ONE_ROW = (
    b"\x01\x00\x04\x03\x00\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01\xff\xff\x01\x00\x01d\x00\x0e"
    b"\xff\xff\x02\x00\x01\x0ccount_star()\x04\x00\x01\x01,\x01d\x00\x01e\x00\x01d\x00\x0e\xff\xff"
    b"f\x00\x01d\x00\x00f\x00\x08\n\x00\x00\x00\x00\x00\x00\x00\xff\xff\xff\xff\xff\xff\xff\xff"
)
LAST = (
    b"\x01\x00\x08\x03\x00\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01\xff\xff\x02\x00"
    b"\xff\xff\xff\xff\xff\xff\xff\xff\xff\x01\xff\xff"
)


def test_messages_of_the_stock_client_are_understood() -> None:
    connect, query = frames.read_request(CONNECT), frames.read_request(QUERY)
    assert (connect.kind, connect.connection) == (Kind.CONNECT, "")
    assert connect.text == "tok-1234567890abcdef"
    assert (query.kind, query.connection, query.text) == (Kind.QUERY, ID, "select * from t")
    assert frames.read_request(FETCH).kind is Kind.FETCH
    other = "B" * 32
    assert query.for_connection(other) == QUERY.replace(ID.encode(), other.encode())
    assert connect.with_text("x" * 200) == CONNECT.replace(
        b"\x14tok-1234567890abcdef", b"\xc8\x01" + b"x" * 200
    )


def test_answers_of_the_server_are_understood() -> None:
    assert frames.connected_as(CONNECTED) == ID
    assert frames.connected_as(frames.renamed(CONNECTED, "C" * 32)) == "C" * 32
    assert frames.is_error(ERROR)
    assert frames.error_text(ERROR).startswith('syntax error at or near "selec"')
    assert frames.error(frames.error_text(ERROR)) == ERROR
    assert (frames.rows_in(ONE_ROW), frames.has_more(ONE_ROW)) == (1, False)
    assert (frames.rows_in(LAST), frames.has_more(LAST)) == (0, False)


@given(st.binary(max_size=80) | st.binary(max_size=40).map(lambda b: QUERY[:45] + b))
def test_no_bytes_upset_the_reading(raw: bytes) -> None:
    try:
        request = frames.read_request(raw)
    except BadFrameError:
        return
    assert request.kind in frames.REQUESTS
    assert isinstance(request.text, str) or request.kind is Kind.FETCH


@pytest.mark.parametrize("cut", range(1, len(QUERY) - 17))
def test_a_message_that_is_cut_off_is_refused(cut: int) -> None:
    with pytest.raises(BadFrameError):
        frames.read_request(QUERY[:cut])
