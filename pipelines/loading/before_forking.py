"""What each reading process needs at its first export, had once by the process they fork from.

Only the helper process of `reading_partner` imports this: it takes nearly a second of processor
time, most of it for compiled code to come from its cache, and starts no thread.
"""

from __future__ import annotations

from contextlib import suppress

from rangeledger.models.flight.trajectory import fly
from rangeledger.pipelines.loading import reader_process  # noqa: F401  to be there in each fork
from rangeledger.pipelines.reader.recognising.words.heading import read_heading

with suppress(Exception):  # who reads meets it again, and tells it
    fly(60.0, 15.0)
    read_heading("Ball speed (mph)")
