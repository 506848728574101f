"""Removing players and exports for good."""
