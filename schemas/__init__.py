"""Floor 0: canonical columns, units, vocabulary, reason codes, errors. Computes nothing."""
