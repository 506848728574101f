"""From an inbox to a loaded batch: offers, reading processes, screening, storing, settling."""
