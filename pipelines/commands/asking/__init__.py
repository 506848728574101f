"""Commands that show what the home holds."""
