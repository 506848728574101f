"""What each reading process needs at its first export, had once by the process they fork from.

Only the helper process of `reading_partner` imports this: it takes nearly a second of processor
time, most of it for compiled code to come from its cache, and starts no thread.
"""

from __future__ import annotations

import gc
from contextlib import suppress

gc.disable()  # of what is imported here nothing becomes garbage

from rangeledger.models.flight.trajectory import fly  # noqa: E402
from rangeledger.pipelines.loading import reader_process  # noqa: E402, F401  to be in each fork
from rangeledger.pipelines.reader import prepare  # noqa: E402, F401
from rangeledger.pipelines.reader.recognising.words.heading import read_heading  # noqa: E402

with suppress(Exception):  # who reads meets it again, and tells it
    fly(60.0, 15.0)
    read_heading("Ball speed (mph)")
gc.freeze()  # nor is it looked through in a fork, which would copy its memory
gc.enable()
