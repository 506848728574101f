"""Hole and strokes files, and the rows and words of a target on a hole."""
