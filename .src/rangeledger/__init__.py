"""Golf launch data in; carry and dispersion that a coach and a player can trust out."""
