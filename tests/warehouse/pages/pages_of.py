"""Reads pages back, for tests."""

from __future__ import annotations

import re
import zlib
from html.parser import HTMLParser


class Page(HTMLParser):
    """What stands on a page: elements with their attributes, and all text."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def of(self, tag: str) -> list[dict[str, str | None]]:
        """Attributes of every element of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def text(self) -> str:
        """All text."""
        return " ".join("".join(self.words).split())


def pdf_text(content: bytes) -> str:
    """The drawing orders of a PDF, unpacked; text set in its own fonts can be read in them."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL)
    unpacked = []
    for stream in streams:
        try:
            unpacked.append(zlib.decompress(stream).decode("latin-1"))
        except zlib.error:
            continue
    return "".join(unpacked)
