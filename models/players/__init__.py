"""A player as a whole: all fits together."""
