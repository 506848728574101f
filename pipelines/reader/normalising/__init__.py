"""Text cells to canonical values."""
