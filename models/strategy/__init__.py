"""Holes, expected strokes, targets, and what practice is worth."""
