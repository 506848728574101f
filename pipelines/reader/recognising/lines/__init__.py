"""Where tables stand among the lines of an export, and what each line is."""
