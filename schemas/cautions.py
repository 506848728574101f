"""The words of caution beside numbers that somebody may act on."""

from __future__ import annotations

from typing import Final

# Where a ball may be aimed or drawn by a number.
CLEAR_PEOPLE: Final = (
    "A number is a tendency, not a promise. Clear people ahead and make sure that nobody can be "
    "hit; the course, its local rules and your own judgement come first."
)
# Where a number may make somebody hit more balls.
HOW_MUCH: Final = (
    "How much to hit in a day is for the coach to say; stop at pain and ask a licensed "
    "professional. Clear people ahead before every stroke; local rules come first."
)
# More shots each way than are worth hitting to settle a question: 200 are four buckets of balls,
# more than a day's practice. Common practice, no source.
MOST_WORTH_HITTING: Final = 200
