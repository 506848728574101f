"""Bytes of an export to a table of text cells with real line numbers."""
