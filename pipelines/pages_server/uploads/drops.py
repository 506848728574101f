"""The files that were dropped while the pages run."""

from __future__ import annotations

from dataclasses import dataclass, field

from rangeledger.pipelines.pages_server.uploads.dropping import Dropped

# So many files are remembered with the place where they wait.
_KEPT = 2000


@dataclass
class Drops:
    """Files dropped while these pages run."""

    files: dict[str, Dropped] = field(default_factory=dict)

    def add(self, dropped: Dropped) -> None:
        """Remember one."""
        self.files.pop(dropped.source_file, None)
        self.files[dropped.source_file] = dropped
        for name in list(self.files)[:-_KEPT]:
            del self.files[name]
