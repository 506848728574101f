"""Where what was loaded lasts: the home itself, or a store that several homes share."""
