"""A hole in the browser: its form, its file, its drawing, and where to aim on it."""
