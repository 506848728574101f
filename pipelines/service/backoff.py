"""Pauses between attempts: ever longer, to an upper bound."""

from __future__ import annotations

_FIRST_S = 0.5
_MOST_S = 60.0


class Backoff:
    """Doubles the pause [s] with every failure in a row."""

    def __init__(self, first_s: float = _FIRST_S, most_s: float = _MOST_S) -> None:
        self.first_s, self.most_s = first_s, most_s
        self._failures = 0

    def next_s(self) -> float:
        """Pause [s] after one more failure."""
        pause = min(self.first_s * 2.0**self._failures, self.most_s)
        self._failures += 1
        return pause

    def reset(self) -> None:
        """Begin anew after a success."""
        self._failures = 0
