"""Commands by which a user decides what counts, and for whom."""
