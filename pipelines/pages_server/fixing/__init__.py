"""Putting a refused export right: its mapping chosen from lists, tried, kept."""
