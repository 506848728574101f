"""Commands that keep a home sound and its fits fresh."""
