"""Floor 1: physics and statistics as pure functions and estimators on SI arrays."""
