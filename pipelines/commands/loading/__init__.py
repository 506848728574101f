"""Commands that read and load exports."""
