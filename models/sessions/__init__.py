"""Sessions of a player over time: levels, changes, and sessions that stand out."""
