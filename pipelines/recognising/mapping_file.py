"""Mapping files: a user's own heading maps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipelines.recognising.heading import Heading
from pipelines.recognising.layout import Block
from pipelines.recognising.tables import Given


@dataclass(frozen=True, slots=True)
class Mapping:
    """A user's heading map."""

    name: str

    def apply(self, blocks: list[Block], given: Given) -> tuple[list[Block], Given]:
        """Blocks and givens with the mapping's words."""
        return blocks, given


def find_mapping(headings: Sequence[Heading], mappings_dir: Path | None) -> Mapping | None:
    """The mapping whose headings are those of a table."""
    return None
