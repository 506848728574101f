"""Which rows of the lake count, as whose shots and in which session: it follows from the lake."""
