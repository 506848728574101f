"""Statistics that know nothing of golf: regression, levels, intervals, ellipses."""
