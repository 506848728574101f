"""The fit of a player by club, and the distribution of the next shot."""
