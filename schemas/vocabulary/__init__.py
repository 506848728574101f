"""Words of the trade, one data file a language; add a language by adding a file."""
