"""What a golf shot can't pass, in one table with its sources.

The range of each column stands with the column (`schemas.columns`); here are the limits on how
columns go together, and those that part putts from shots.
"""

from __future__ import annotations

from typing import Final

# Ball speed over club speed. The rules' limit on the spring of a driver allows about 1.50; 0.06
# are for errors of measuring. Common practice, no source.
MOST_SPEED_RATIO: Final = 1.56
# Of a full swing: a lob wedge, whose face is open, gives about 1.0. Common practice, no source.
LEAST_SPEED_RATIO: Final = 0.9
# Of any stroke at all, as a column of such ratios may hold: a splash out of sand gives the least,
# and a typing error more than any club. Common practice, no source.
RANGE_OF_SPEED_RATIOS: Final = (0.3, 2.0)
# Club speed [m/s] below which the ratio is not judged: both speeds of a chip are read to a tenth
# or a mile an hour, which moves their ratio by a tenth. Common practice, no source.
LEAST_CLUB_SPEED_JUDGED_MPS: Final = 8.0

# A ball up to here rolls or is pitched a few yards, and its flight is not computed; a flat launch
# bounces before it flies. Common practice, no source.
SLOWEST_FLOWN_MPS: Final = 12.0
LOWEST_FLOWN_DEG: Final = 4.0
# A putt of 100 ft on a fast green starts at about 8 m/s. Common practice, no source.
FASTEST_PUTT_MPS: Final = 9.0

# How far a ball comes back from where it landed [m]: a wedge on a soft green at most so far, a
# longer shot hardly. Common practice, no source.
SPUN_BACK_M: Final = 8.0
LONG_SPUN_BACK_M: Final = 4.0
LONG_CARRY_M: Final = 150.0

# The middle size of a table's sides over its flights: a quarter is 14 degrees off the line, so
# that half the shots would miss a fairway of any width; such a column holds distances. Common
# practice, no source.
MOST_SIDE_OF_FLIGHT: Final = 0.25
