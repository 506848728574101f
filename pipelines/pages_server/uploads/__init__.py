"""Exports that a browser sends: into the inbox, with what is said of them in a note."""
